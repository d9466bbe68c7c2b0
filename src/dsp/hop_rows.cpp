// SPDX-License-Identifier: GPL-3.0-or-later
#include "hop_rows.h"

#include "band_powers.h"
#include "plain_log.h"
#include "thin.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace fourbeat::dsp {

namespace {

constexpr std::int64_t chunk_hops = 64;

/// Steps, slopes and sums of the hop whose first frame is samples[at]; at least 2.
void measure_samples(audio::MonoView samples, std::size_t at, std::size_t hop, std::size_t row,
                     HopRows& rows) {
  const float* x = samples.data() + at;
  float step = 0.0F;
  float slope = 0.0F;
  float last = x[-1];
  float last_step = x[-1] - x[-2];
  double sum = 0.0;
  double square = 0.0;
  for (std::size_t i = 0; i < hop; ++i) {
    const float d = x[i] - last;
    step = std::max(step, std::abs(d));
    slope = std::max(slope, std::abs(d - last_step));
    last = x[i];
    last_step = d;
    const double value = x[i];
    sum += value;
    square += value * value;
  }
  rows.step[row] = step;
  rows.slope[row] = slope;
  rows.sum[row] = sum;
  rows.square[row] = square;
}

}  // namespace

std::int64_t hop_frames_of(double sample_rate_hz) {
  return std::llround(hop_s * sample_rate_hz);
}

void centre(audio::MonoView frame, std::span<float> out) {
  std::array<double, 4> sums{};  // none waits for another
  std::size_t at = 0;
  for (; at + 4 <= frame.size(); at += 4) {
    for (std::size_t k = 0; k < 4; ++k)
      sums[k] += static_cast<double>(frame[at + k]);
  }
  for (; at < frame.size(); ++at)
    sums[0] += static_cast<double>(frame[at]);
  const double sum = (sums[0] + sums[1]) + (sums[2] + sums[3]);
  const auto mean = static_cast<float>(sum / static_cast<double>(frame.size()));
  for (std::size_t i = 0; i < frame.size(); ++i)
    out[i] = frame[i] - mean;
}

HopRows::HopRows(double sample_rate_hz, std::int64_t first_hop, std::int64_t count)
    : first(first_hop), bands(third_octaves_from_250_hz(sample_rate_hz).size()) {
  const auto hops = static_cast<std::size_t>(std::max<std::int64_t>(0, count));
  step.assign(hops, 0.0F);
  slope.assign(hops, 0.0F);
  sum.assign(hops, 0.0);
  square.assign(hops, 0.0);
  fine.assign(hops * bands, 0.0F);
  fine_db.assign(hops * bands, 0.0F);
  low.assign(hops * static_cast<std::size_t>(low_steps_a_hop), 0.0F);
}

void HopRows::copy(const HopRows& from, std::int64_t theirs, std::int64_t own, std::int64_t run) {
  const auto take = [&](const auto& source, auto& target, std::size_t width) {
    std::copy_n(source.begin() + (theirs - from.first) * static_cast<std::int64_t>(width),
                run * static_cast<std::int64_t>(width),
                target.begin() + (own - first) * static_cast<std::int64_t>(width));
  };
  take(from.step, step, 1);
  take(from.slope, slope, 1);
  take(from.sum, sum, 1);
  take(from.square, square, 1);
  take(from.fine, fine, bands);
  take(from.fine_db, fine_db, bands);
  take(from.low, low, static_cast<std::size_t>(low_steps_a_hop));
}

Status measure_hops(audio::MonoView samples, std::int64_t origin, double sample_rate_hz,
                    std::int64_t from, std::int64_t to, HopRows& rows, const JobControl& job) {
  if (from >= to) return ok();
  const std::int64_t hop = hop_frames_of(sample_rate_hz);
  const auto size = static_cast<std::size_t>(fine_hops * hop);
  BandPowers meter(size, sample_rate_hz, third_octaves_from_250_hz(sample_rate_hz));
  std::vector<float> frame(size);
  for (std::int64_t h = from; h < to; ++h) {
    if (h % 64 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    const auto at = static_cast<std::size_t>(h * hop - origin);
    const auto row = static_cast<std::size_t>(h - rows.first);
    measure_samples(samples, at, static_cast<std::size_t>(hop), row, rows);
    centre(samples.subspan(at, size), frame);
    meter.measure(frame, std::span(rows.fine).subspan(row * rows.bands, rows.bands));
    for (std::size_t b = row * rows.bands; b < (row + 1) * rows.bands; ++b)
      rows.fine_db[b] =
          static_cast<float>(plain_db(std::max<double>(rows.fine[b], least_band_power)));
  }
  const Result<std::vector<float>> low =
      thin(samples,
           {from * hop - origin, hop, low_steps_a_hop,
            static_cast<std::size_t>((to - from) * low_steps_a_hop)},
           job);
  if (!low) return low.error();
  std::copy(low->begin(), low->end(), rows.low.begin() + (from - rows.first) * low_steps_a_hop);
  return ok();
}

MaterialHops::MaterialHops(const std::vector<std::vector<float>>& channels, double sample_rate_hz)
    : channels_(channels), sample_rate_hz_(sample_rate_hz) {
  const std::int64_t frames =
      channels.empty() ? 0 : static_cast<std::int64_t>(channels.front().size());
  end_ = std::max(first_hop(), frames / hop_frames_of(sample_rate_hz) - fine_hops + 1);
  const std::int64_t count = end_ - first_hop();
  for (std::size_t c = 0; c < channels.size(); ++c) {
    rows_.emplace_back(sample_rate_hz, first_hop(), count);
    known_.emplace_back(static_cast<std::size_t>(count / chunk_hops + 1), false);
  }
}

Result<const HopRows*> MaterialHops::rows(std::size_t channel, std::int64_t from, std::int64_t to,
                                          const JobControl& job) {
  for (std::int64_t chunk = (from - first_hop()) / chunk_hops;
       first_hop() + chunk * chunk_hops < to; ++chunk) {
    if (known_[channel][static_cast<std::size_t>(chunk)]) continue;
    const std::int64_t begin = first_hop() + chunk * chunk_hops;
    if (Status measured = measure_hops(channels_[channel], 0, sample_rate_hz_, begin,
                                       std::min(end_, begin + chunk_hops), rows_[channel], job);
        !measured)
      return measured.error();
    known_[channel][static_cast<std::size_t>(chunk)] = true;
  }
  return &rows_[channel];
}

}  // namespace fourbeat::dsp
