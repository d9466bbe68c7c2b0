// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_time.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace fourbeat::dsp {

namespace {

constexpr double envelope_s = 0.005;
constexpr double before_s = 0.050;
constexpr double peak_within_s = 0.050;
constexpr double move_limit_s = 0.025;
constexpr double step_s = 0.0001;
/// The least rise that is an attack, and how far under the peak the quietest may count (90 dB).
constexpr double least_rise_db = 3.0;
constexpr double deepest = 1e-9;

/// Power over the envelope's width at times start_s + i × step, to a constant.
struct Envelope {
  double start_s = 0.0;
  double step_s = 0.0;
  std::vector<double> power;

  [[nodiscard]] double time_s(double index) const { return start_s + index * step_s; }
  [[nodiscard]] std::size_t index_at(double at_s) const {
    const double index = std::round((at_s - start_s) / step_s);
    return static_cast<std::size_t>(std::clamp(index, 0.0, static_cast<double>(power.size() - 1)));
  }
};

Result<Envelope> envelope_of(SampleSource& samples, double sample_rate_hz, double from_s,
                             double to_s) {
  const std::int64_t size = samples.frames().value();
  const auto width = std::max<std::int64_t>(2, std::llround(envelope_s * sample_rate_hz));
  const auto step = std::max<std::int64_t>(1, std::llround(step_s * sample_rate_hz));
  const auto first = std::max<std::int64_t>(0, std::llround(from_s * sample_rate_hz));
  const auto last = std::min<std::int64_t>(size - 1, std::llround(to_s * sample_rate_hz));
  Envelope envelope;
  envelope.start_s = static_cast<double>(first) / sample_rate_hz;
  envelope.step_s = static_cast<double>(step) / sample_rate_hz;
  if (last < first) return envelope;
  const std::int64_t sums_from = std::max<std::int64_t>(0, first - width / 2);
  const std::int64_t sums_to = std::min<std::int64_t>(size, last - width / 2 + width + 1);
  std::vector<double> sums(static_cast<std::size_t>(sums_to - sums_from) + 1, 0.0);
  const Result<audio::MonoView> block = samples.read(frame_range(sums_from, sums_to));
  if (!block) return block.error();
  for (std::size_t at = 0; at < block->size(); ++at) {
    const double x = (*block)[at];
    sums[at + 1] = sums[at] + x * x;
  }
  double loudest = 0.0;
  for (std::int64_t at = first; at <= last; at += step) {
    const std::int64_t low = std::max(sums_from, at - width / 2);
    const std::int64_t high = std::min(sums_to, at - width / 2 + width);
    const double sum = sums[static_cast<std::size_t>(high - sums_from)] -
                       sums[static_cast<std::size_t>(low - sums_from)];
    envelope.power.push_back(std::max(0.0, sum));
    loudest = std::max(loudest, envelope.power.back());
  }
  if (!(loudest > 1e-200)) envelope.power.clear();
  for (double& value : envelope.power)
    value = std::max(value, loudest * deepest);
  return envelope;
}

}  // namespace

Result<std::optional<double>> attack_time_s(SampleSource& samples, double sample_rate_hz,
                                            double near_s, double interval_s) {
  const double back_s = std::min(before_s, 0.6 * interval_s);
  const double ahead_s = std::min(peak_within_s, 0.4 * interval_s);
  const double reach_s = std::min(move_limit_s, 0.3 * interval_s);
  const Result<Envelope> envelope =
      envelope_of(samples, sample_rate_hz, near_s - back_s, near_s + ahead_s);
  if (!envelope) return envelope.error();
  const std::vector<double>& power = envelope->power;
  std::optional<double> best;
  if (power.size() < 3) return best;
  const auto peak_from =
      power.begin() + static_cast<std::ptrdiff_t>(envelope->index_at(near_s - 0.4 * reach_s));
  const auto peak = std::max_element(peak_from, power.end());
  const auto quietest = std::min_element(power.begin(), peak + 1);
  if (plain_db(*peak / *quietest) < least_rise_db) return best;
  const double middle = std::sqrt(*peak * *quietest);  // midway in dB
  for (auto at = quietest; at + 1 <= peak; ++at) {
    if (!(at[0] < middle && at[1] >= middle)) continue;
    const double part = plain_ln(middle / at[0]) / plain_ln(at[1] / at[0]);
    const double time_s = envelope->time_s(static_cast<double>(at - power.begin()) + part);
    if (std::fabs(time_s - near_s) > reach_s) continue;
    if (!best || std::fabs(time_s - near_s) < std::fabs(*best - near_s)) best = time_s;
  }
  return best;
}

}  // namespace fourbeat::dsp
