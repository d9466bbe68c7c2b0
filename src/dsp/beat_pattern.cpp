// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_pattern.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::dsp {

namespace {

/// Variance ratio beyond chance for the degrees of freedom that occur here (Fisher's F at 1 % is
/// 4.0 for 3 and 60, 2.8 for 7 and 60), and the fewest revolutions that can show it.
constexpr double significant = 4.0;
constexpr std::size_t least_revolutions = 4;

/// A trait less its mean over the revolution around each beat: slow change taken out.
std::vector<double> less_slow_change(std::span<const double> values, std::size_t per_rev) {
  std::vector<double> sums(values.size() + 1, 0.0);
  for (std::size_t i = 0; i < values.size(); ++i)
    sums[i + 1] = sums[i] + values[i];
  std::vector<double> out(values.size());
  for (std::size_t i = 0; i < values.size(); ++i) {
    std::size_t low = i >= per_rev / 2 ? i - per_rev / 2 : 0;
    low = std::min(low, values.size() - per_rev);
    out[i] = values[i] - (sums[low + per_rev] - sums[low]) / static_cast<double>(per_rev);
  }
  return out;
}

struct Places {
  std::vector<double> mean;  ///< one a place, over the spread within places
  double ratio = 0.0;        ///< Fisher's F
};

Places analyse(std::span<const double> values, std::size_t per_rev) {
  Places places;
  places.mean.assign(per_rev, 0.0);
  std::vector<double> count(per_rev, 0.0);
  for (std::size_t i = 0; i < values.size(); ++i) {
    places.mean[i % per_rev] += values[i];
    count[i % per_rev] += 1.0;
  }
  double all = 0.0;
  for (std::size_t p = 0; p < per_rev; ++p) {
    all += places.mean[p];
    places.mean[p] /= count[p];
  }
  all /= static_cast<double>(values.size());
  double between = 0.0;
  double inside = 0.0;
  for (std::size_t p = 0; p < per_rev; ++p)
    between += count[p] * (places.mean[p] - all) * (places.mean[p] - all);
  for (std::size_t i = 0; i < values.size(); ++i) {
    const double off = values[i] - places.mean[i % per_rev];
    inside += off * off;
  }
  between /= static_cast<double>(per_rev - 1);
  inside /= static_cast<double>(values.size() - per_rev);
  const double least = 1e-12;
  places.ratio = between / std::max(inside, least);
  const double spread = std::sqrt(std::max(inside, least));
  for (double& mean : places.mean)
    mean = (mean - all) / spread;
  return places;
}

}  // namespace

double mean_tilt_db(std::span<const Beat> beats) {
  double sum = 0.0;
  double count = 0.0;
  for (const Beat& beat : beats) {
    if (!beat.tilt_db) continue;
    sum += *beat.tilt_db;
    count += 1.0;
  }
  return count > 0.0 ? sum / count : 0.0;
}

std::vector<int> revolution_places(std::span<const BeatTraits> beats, int beats_per_rev,
                                   RevolutionPattern& pattern) {
  const auto per_rev = static_cast<std::size_t>(beats_per_rev);
  if (beats_per_rev < 2 || beats.size() < least_revolutions * per_rev + 1) return {};
  std::vector<double> levels;
  std::vector<double> tilts;
  std::vector<double> intervals;
  for (std::size_t i = 0; i + 1 < beats.size(); ++i) {
    levels.push_back(beats[i].level_db);
    tilts.push_back(beats[i].tilt_db);
    intervals.push_back(beats[i + 1].time_s - beats[i].time_s);
  }
  std::vector<double> uneven = less_slow_change(intervals, per_rev);
  for (std::size_t i = 0; i < uneven.size(); ++i)
    uneven[i] /= intervals[i] - uneven[i];
  const Places level = analyse(less_slow_change(levels, per_rev), per_rev);
  const Places timing = analyse(uneven, per_rev);
  const Places tilt = analyse(less_slow_change(tilts, per_rev), per_rev);
  if (std::max({level.ratio, timing.ratio, tilt.ratio}) < significant) return {};
  std::size_t turn = 0;  // beat `turn` is at place 0
  if (pattern.level.size() != per_rev) {
    turn = static_cast<std::size_t>(std::max_element(level.mean.begin(), level.mean.end()) -
                                    level.mean.begin());
    for (std::size_t p = 0; p < per_rev; ++p) {
      pattern.level.push_back(level.mean[(p + turn) % per_rev]);
      pattern.timing.push_back(timing.mean[(p + turn) % per_rev]);
      pattern.tilt.push_back(tilt.mean[(p + turn) % per_rev]);
    }
  } else {
    double best = -1e300;
    for (std::size_t shift = 0; shift < per_rev; ++shift) {
      double match = 0.0;
      for (std::size_t p = 0; p < per_rev; ++p) {
        match += pattern.level[p] * level.mean[(p + shift) % per_rev];
        match += pattern.timing[p] * timing.mean[(p + shift) % per_rev];
        match += pattern.tilt[p] * tilt.mean[(p + shift) % per_rev];
      }
      if (match > best) {
        best = match;
        turn = shift;
      }
    }
  }
  std::vector<int> places(beats.size());
  for (std::size_t i = 0; i < beats.size(); ++i)
    places[i] = static_cast<int>((i + per_rev - turn) % per_rev);
  return places;
}

}  // namespace fourbeat::dsp
