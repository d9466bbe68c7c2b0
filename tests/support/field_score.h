// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/field_take.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/dsp/beat_tracker.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::tests {

/// How well beats found meet a field take's.
struct FieldScore {
  std::size_t hits = 0;
  std::size_t wanted = 0;
  std::size_t found = 0;
  std::vector<double> errors_s;  ///< absolute, of the hits

  [[nodiscard]] double f_measure() const {
    return wanted + found == 0
               ? 1.0
               : 2.0 * static_cast<double>(hits) / static_cast<double>(wanted + found);
  }
  void add(const FieldScore& other) {
    hits += other.hits;
    wanted += other.wanted;
    found += other.found;
    errors_s.insert(errors_s.end(), other.errors_s.begin(), other.errors_s.end());
  }
};

/// Each beat and each estimate is used once; they meet within 25 ms, or within 15 % of the mean
/// interval there where that is under 100 ms. The first and last quarter second of a take count
/// neither way: a beat cut by an end is no fair question.
inline FieldScore score_field(const FieldTake& take, std::size_t channel,
                              std::span<const double> estimates_s) {
  constexpr double edge_s = 0.25;
  const double length_s = static_cast<double>(take.channels[channel].size()) / take.sample_rate_hz;
  const auto inside = [&](double t) { return t >= edge_s && t <= length_s - edge_s; };
  std::vector<char> used(estimates_s.size(), 0);
  FieldScore score;
  std::size_t at = 0;
  for (const double source_s : take.beats_s) {
    const double beat_s = source_s + take.delays_s[channel];
    const double interval_s = 1.0 / std::max(1e-3, take.rate_hz(source_s));
    const double window_s = interval_s < 0.1 ? 0.15 * interval_s : 0.025;
    while (at < estimates_s.size() && estimates_s[at] < beat_s - window_s)
      ++at;
    const bool hit = at < estimates_s.size() && estimates_s[at] <= beat_s + window_s;
    if (hit) used[at] = 1;
    if (inside(beat_s)) {
      ++score.wanted;
      if (hit) {
        ++score.hits;
        ++score.found;
        score.errors_s.push_back(std::fabs(estimates_s[at] - beat_s));
      }
    }
    if (hit) ++at;
  }
  for (std::size_t i = 0; i < estimates_s.size(); ++i)
    if (!used[i] && inside(estimates_s[i])) ++score.found;
  return score;
}

inline std::vector<double> times_of(const dsp::BeatTrack& track) {
  std::vector<double> times_s;
  for (const dsp::Beat& beat : track.beats)
    times_s.push_back(beat.time_s);
  return times_s;
}

/// Relative errors of the speeds that a track gives, against the take's speed at each beat.
inline std::vector<double> speed_errors(const FieldTake& take, const dsp::BeatTrack& track) {
  std::vector<double> errors;
  for (const dsp::Beat& beat : track.beats) {
    const double rate_hz = take.rate_hz(beat.time_s);
    if (!beat.speed_kmh || !(rate_hz > 0.0)) continue;
    const double truth_kmh =
        beat_speed_kmh(1.0 / rate_hz, take.driver_diameter_mm, take.beats_per_rev);
    errors.push_back(std::fabs(*beat.speed_kmh / truth_kmh - 1.0));
  }
  return errors;
}

/// Everything that is known of a take's engine.
inline dsp::BeatHints hints_of(const FieldTake& take) {
  return {take.driver_diameter_mm, take.beats_per_rev, take.top_speed_kmh};
}

inline double median_of(std::vector<double> values) {
  if (values.empty()) return 0.0;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace fourbeat::tests
