// SPDX-License-Identifier: GPL-3.0-or-later
#include "channel_loudness.h"

#include "fourbeat/base/decibels.h"

#include <ebur128.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace fourbeat::audio {

namespace {

/// Samples that the oversampling filter of 49 taps at 4x looks at, with room to spare.
constexpr std::size_t reach = 32;
/// No output of that filter exceeds this many times its largest input: its taps are a windowed
/// sinc, whose magnitudes sum to less than 2.4 in the worst of its phases.
constexpr float overshoot_bound = 2.5F;
constexpr std::size_t piece_length = 1024;

struct DestroyMeter {
  void operator()(ebur128_state* meter) const { ebur128_destroy(&meter); }
};
using Meter = std::unique_ptr<ebur128_state, DestroyMeter>;

float largest(MonoView samples) {
  float peak = 0.0F;
  for (const float sample : samples)
    peak = std::max(peak, std::fabs(sample));
  return peak;
}

}  // namespace

struct ChannelLoudness::State {
  Meter loudness;
  Meter peak_meter;
  double peak = 0.0;
  std::array<float, reach> past{};
  std::vector<float> piece;

  Status add_peak(MonoView samples) {
    if (std::max(largest(samples), largest(past)) * overshoot_bound > static_cast<float>(peak)) {
      double found = 0.0;
      if (ebur128_add_frames_float(peak_meter.get(), past.data(), past.size()) != EBUR128_SUCCESS ||
          ebur128_add_frames_float(peak_meter.get(), samples.data(), samples.size()) !=
              EBUR128_SUCCESS ||
          ebur128_prev_true_peak(peak_meter.get(), 0, &found) != EBUR128_SUCCESS) {
        return Error{ErrorCode::internal, {}, "true peak", "the meter ran out of memory", {}};
      }
      peak = std::max(peak, found);
    }
    if (samples.size() >= reach) {
      std::copy(samples.end() - static_cast<std::ptrdiff_t>(reach), samples.end(), past.begin());
    } else {
      std::move(past.begin() + static_cast<std::ptrdiff_t>(samples.size()), past.end(),
                past.begin());
      std::copy(samples.begin(), samples.end(),
                past.end() - static_cast<std::ptrdiff_t>(samples.size()));
    }
    return ok();
  }
};

ChannelLoudness::ChannelLoudness(std::unique_ptr<State> state) : state_(std::move(state)) {}
ChannelLoudness::ChannelLoudness(ChannelLoudness&&) noexcept = default;
ChannelLoudness& ChannelLoudness::operator=(ChannelLoudness&&) noexcept = default;
ChannelLoudness::~ChannelLoudness() = default;

Result<ChannelLoudness> ChannelLoudness::make(double sample_rate_hz) {
  if (!(sample_rate_hz >= 1.0 && sample_rate_hz <= 1.0e6)) {
    return Error{ErrorCode::bad_argument, {}, "sample rate", {}, {}};
  }
  // libebur128 begins at 16 Hz; nothing slower has a loudness.
  const auto rate_hz = static_cast<unsigned long>(std::max<long>(16, std::lround(sample_rate_hz)));
  auto state = std::make_unique<State>();
  state->loudness.reset(ebur128_init(1, rate_hz, EBUR128_MODE_I));
  state->peak_meter.reset(ebur128_init(1, rate_hz, EBUR128_MODE_TRUE_PEAK));
  if (!state->loudness || !state->peak_meter) {
    return Error{ErrorCode::internal, {}, "loudness", "no meter", {}};
  }
  ebur128_set_channel(state->loudness.get(), 0, EBUR128_CENTER);
  return ChannelLoudness(std::move(state));
}

Status ChannelLoudness::add(MonoView block) {
  if (block.empty()) return ok();
  if (ebur128_add_frames_float(state_->loudness.get(), block.data(), block.size()) !=
      EBUR128_SUCCESS) {
    return Error{ErrorCode::internal, {}, "loudness", "the meter ran out of memory", {}};
  }
  for (std::size_t done = 0; done < block.size(); done += piece_length) {
    const MonoView piece = block.subspan(done, std::min(piece_length, block.size() - done));
    if (Status added = state_->add_peak(piece); !added) return added;
  }
  return ok();
}

std::optional<double> ChannelLoudness::integrated_lufs() const {
  double value = 0.0;
  if (ebur128_loudness_global(state_->loudness.get(), &value) != EBUR128_SUCCESS ||
      !std::isfinite(value)) {
    return std::nullopt;
  }
  return value;
}

std::optional<double> ChannelLoudness::true_peak_dbtp() const {
  return db_of_amplitude(state_->peak);
}

}  // namespace fourbeat::audio
