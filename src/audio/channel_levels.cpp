// SPDX-License-Identifier: GPL-3.0-or-later
#include "channel_levels.h"

#include "fourbeat/base/decibels.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::audio {

namespace {

/// A top is flat from three equal samples on, and counts from -3 dBFS on: converters clip there
/// even when the gain behind them was turned down a little.
constexpr std::int64_t flat_run = 3;
constexpr float near_full_scale = 0.7079458F;
/// There is sound beside a gap when its last or first millisecond reaches -72 dBFS (8 steps of
/// 16 bits).
constexpr float gap_edge = 0x1.0p-12F;
constexpr double noise_share = 0.10;

std::size_t length_of(double seconds, double sample_rate_hz) {
  return std::max<std::size_t>(1, static_cast<std::size_t>(std::llround(seconds * sample_rate_hz)));
}

bool reaches_edge(MonoView samples) {
  return std::any_of(samples.begin(), samples.end(),
                     [](float sample) { return std::fabs(sample) >= gap_edge; });
}

}  // namespace

ChannelLevels::ChannelLevels(double sample_rate_hz)
    : frame_length_(length_of(0.1, sample_rate_hz)),
      edge_length_(length_of(0.001, sample_rate_hz)),
      history_(2 * edge_length_ + 1, 0.0F) {}

void FlatTopCounter::Top::add(float sample) {
  if (sample < value) {
    run = 0;
  } else if (sample > value) {
    value = sample;
    run = 1;
    runs = 0;
  } else if (++run == flat_run) {
    ++runs;
  }
}

std::int64_t FlatTopCounter::Top::flat() const {
  return value >= near_full_scale ? runs : 0;
}

std::int64_t count_flat_tops(MonoView samples) {
  FlatTopCounter counter;
  for (const float sample : samples)
    counter.add(sample);
  return counter.count();
}

void ChannelLevels::add(MonoView block) {
  for (const float sample : block) {
    const auto x = static_cast<double>(sample);
    sum_ += x;
    tops_.add(sample);
  }
  samples_ += static_cast<std::int64_t>(block.size());
  add_to_frames(block);
  look_for_dropouts(block);
}

void ChannelLevels::add_to_frames(MonoView block) {
  for (std::size_t done = 0; done < block.size();) {
    const std::size_t step = std::min(frame_length_ - in_frame_, block.size() - done);
    // Sums are kept a frame, so that where blocks are cut does not change their rounding.
    for (const float sample : block.subspan(done, step))
      frame_square_sum_ += static_cast<double>(sample) * static_cast<double>(sample);
    done += step;
    in_frame_ += step;
    if (in_frame_ == frame_length_) {
      square_sum_ += frame_square_sum_;
      frames_.add(frame_square_sum_ / static_cast<double>(frame_length_));
      in_frame_ = 0;
      frame_square_sum_ = 0.0;
    }
  }
}

void ChannelLevels::look_for_dropouts(MonoView block) {
  const std::size_t past = 2 * edge_length_ + 1;
  history_.resize(past);
  history_.insert(history_.end(), block.begin(), block.end());
  const auto limit = static_cast<std::int64_t>(edge_length_);
  for (std::size_t i = past; i < history_.size(); ++i) {
    if (history_[i] == 0.0F) {
      if (++zero_run_ == limit + 1) {
        // The gap began edge_length_ samples ago; what stood in front of it is still here.
        loud_before_gap_ =
            reaches_edge(MonoView(history_).subspan(i - 2 * edge_length_, edge_length_));
      }
    } else {
      if (zero_run_ > limit && loud_before_gap_) edge_left_ = edge_length_;
      zero_run_ = 0;
    }
    if (edge_left_ > 0) {
      --edge_left_;
      if (std::fabs(history_[i]) >= gap_edge) {
        ++dropouts_;
        edge_left_ = 0;
      }
    }
  }
  std::copy(history_.end() - static_cast<std::ptrdiff_t>(past), history_.end(), history_.begin());
}

double ChannelLevels::power() const {
  if (samples_ == 0) return 0.0;
  const auto count = static_cast<double>(samples_);
  const double mean = sum_ / count;
  return std::max(0.0, (square_sum_ + frame_square_sum_) / count - mean * mean);
}

void ChannelLevels::report(ChannelReport& into) const {
  into.peak_dbfs = db_of_amplitude(static_cast<double>(tops_.extreme()));
  if (samples_ == 0) return;
  const auto count = static_cast<double>(samples_);
  if (const auto level_db = db_of_power((square_sum_ + frame_square_sum_) / count)) {
    into.rms_dbfs = *level_db;
  }
  into.dc_offset = sum_ / count;
  into.noise_floor_dbfs = frames_.percentile_db(noise_share);
  into.flat_tops = tops_.count();
  into.dropouts = dropouts_;
}

}  // namespace fourbeat::audio
