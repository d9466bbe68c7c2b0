// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::tests {

struct OnsetScore {
  std::size_t true_positives = 0;
  double precision = 0.0;
  double recall = 0.0;
  double f_measure = 0.0;
};

/// How many estimates meet a reference within `window_s`, each reference and each estimate used
/// once, at most as many as can be: onset matching as in mir_eval (Raffel et al., ISMIR 2014).
/// Both ascending. On a line, taking each reference's earliest free estimate is a greatest
/// matching.
inline OnsetScore score_onsets(std::span<const double> references_s,
                               std::span<const double> estimates_s, double window_s) {
  constexpr double rounding_s = 1e-9;  // a distance equal to the window counts
  OnsetScore score;
  std::size_t at = 0;
  for (const double reference : references_s) {
    while (at < estimates_s.size() && estimates_s[at] < reference - window_s - rounding_s)
      ++at;
    if (at < estimates_s.size() && estimates_s[at] <= reference + window_s + rounding_s) {
      ++score.true_positives;
      ++at;
    }
  }
  const auto hits = static_cast<double>(score.true_positives);
  if (!estimates_s.empty()) score.precision = hits / static_cast<double>(estimates_s.size());
  if (!references_s.empty()) score.recall = hits / static_cast<double>(references_s.size());
  const double sum = score.precision + score.recall;
  if (sum > 0.0) score.f_measure = 2.0 * score.precision * score.recall / sum;
  return score;
}

/// The times inside [from_s, to_s].
inline std::vector<double> within(std::span<const double> times_s, double from_s, double to_s) {
  std::vector<double> inside;
  std::copy_if(times_s.begin(), times_s.end(), std::back_inserter(inside),
               [&](double time_s) { return time_s >= from_s && time_s <= to_s; });
  return inside;
}

}  // namespace fourbeat::tests
