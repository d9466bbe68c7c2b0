// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_turns.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace fourbeat::work {

namespace {

/// What two takes of one engine may differ by beside chance: accents with effort, angles with
/// the valve gear's wear and the microphone's place. Common practice, no source.
constexpr double accent_differs_db = 0.5;
constexpr double timing_differs_deg = 1.0;
/// Angles further than this from even ones tell where the revolution begins.
constexpr double limp_from_deg = 1.0;

/// A figure of each place of the revolution, with the variance of its mean.
struct Figures {
  std::vector<double> mean;
  std::vector<double> variance;
};

/// How one group of beats limps: energy in dB and angle in degrees of each place, less their mean
/// over the turn.
struct Pattern {
  std::size_t turns = 0;
  Figures level;
  Figures timing;
};

/// Sums over the turns of a group.
struct Sums {
  std::size_t turns = 0;
  std::vector<double> level, level_square, timing, timing_square;
  explicit Sums(std::size_t n) : level(n), level_square(n), timing(n), timing_square(n) {}

  void add(const Turn& turn) {
    const std::size_t n = level.size();
    double mean_deg = 0.0;
    for (std::size_t k = 0; k < n; ++k) {
      mean_deg += (turn.angles_deg[k] - 360.0 * static_cast<double>(k) / static_cast<double>(n)) /
                  static_cast<double>(n);
    }
    for (std::size_t k = 0; k < n; ++k) {
      const double even_deg = 360.0 * static_cast<double>(k) / static_cast<double>(n);
      const double late_deg = turn.angles_deg[k] - even_deg - mean_deg;
      level[k] += turn.levels_db[k];
      level_square[k] += turn.levels_db[k] * turn.levels_db[k];
      timing[k] += late_deg;
      timing_square[k] += late_deg * late_deg;
    }
    ++turns;
  }
};

Figures figures_of(const std::vector<double>& sums, const std::vector<double>& squares,
                   std::size_t turns, double least_spread) {
  const auto count = static_cast<double>(turns);
  Figures figures;
  for (std::size_t k = 0; k < sums.size(); ++k) {
    const double mean = sums[k] / count;
    // With few turns their own spread says little.
    const double spread =
        (std::max(0.0, squares[k] - count * mean * mean) + 4.0 * least_spread * least_spread) /
        (count + 3.0);
    figures.mean.push_back(mean);
    figures.variance.push_back(spread / count);
  }
  return figures;
}

double misfit(const Figures& reference, const Figures& turned, std::size_t shift, double differs) {
  const std::size_t n = reference.mean.size();
  double sum = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    const std::size_t from = (k + shift) % n;
    const double off = reference.mean[k] - turned.mean[from];
    sum += off * off / (reference.variance[k] + turned.variance[from] + differs * differs);
  }
  return sum;
}

/// By how many places a group counts ahead of the reference.
std::size_t best_shift(const Pattern& reference, const Pattern& group) {
  std::size_t best = 0;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t shift = 0; shift < reference.level.mean.size(); ++shift) {
    const double cost = misfit(reference.level, group.level, shift, accent_differs_db) +
                        misfit(reference.timing, group.timing, shift, timing_differs_deg);
    if (cost < least) {
      least = cost;
      best = shift;
    }
  }
  return best;
}

/// By how many places the reference counts ahead of the engine's own angles; 0 where those are
/// even, or not given.
std::size_t shift_to_engine(const Pattern& reference, const model::Engine& engine) {
  if (engine.beat_angles_deg.empty()) return 0;
  const std::size_t n = reference.timing.mean.size();
  Figures own;
  double mean_deg = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    own.mean.push_back(engine.beat_angles_deg[k] -
                       360.0 * static_cast<double>(k) / static_cast<double>(n));
    mean_deg += own.mean.back() / static_cast<double>(n);
  }
  double limp_deg = 0.0;
  for (double& late_deg : own.mean) {
    late_deg -= mean_deg;
    limp_deg = std::max(limp_deg, std::fabs(late_deg));
  }
  if (limp_deg < limp_from_deg) return 0;
  own.variance.assign(n, 0.0);
  std::size_t best = 0;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t shift = 0; shift < n; ++shift) {
    const double cost = misfit(own, reference.timing, shift, timing_differs_deg);
    if (cost < least) {
      least = cost;
      best = shift;
    }
  }
  return best;
}

std::map<std::size_t, Pattern> patterns_of(const std::vector<HeardTake>& takes,
                                           const model::Engine& engine) {
  const auto n = static_cast<std::size_t>(engine.beats_per_rev);
  std::map<std::size_t, Sums> sums;
  for (const Turn& turn : turns_of(takes, engine))
    sums.try_emplace(turn.group(), n).first->second.add(turn);
  std::map<std::size_t, Pattern> patterns;
  for (const auto& [group, of_group] : sums) {
    patterns.emplace(group, Pattern{of_group.turns,
                                    figures_of(of_group.level, of_group.level_square,
                                               of_group.turns, accent_differs_db),
                                    figures_of(of_group.timing, of_group.timing_square,
                                               of_group.turns, timing_differs_deg)});
  }
  return patterns;
}

}  // namespace

void align_places(std::vector<HeardTake>& takes, const model::Engine& engine) {
  const auto n = static_cast<std::size_t>(engine.beats_per_rev);
  const std::map<std::size_t, Pattern> patterns = patterns_of(takes, engine);
  if (patterns.empty() || n < 2) return;
  const auto reference = std::max_element(
      patterns.begin(), patterns.end(),
      [](const auto& a, const auto& b) { return a.second.turns < b.second.turns; });
  const std::size_t together = shift_to_engine(reference->second, engine);
  std::map<std::size_t, std::size_t> shifts;
  for (const auto& [group, pattern] : patterns) {
    const std::size_t own = group == reference->first ? 0 : best_shift(reference->second, pattern);
    shifts.emplace(group, (own + together) % n);
  }
  for (HeardTake& take : takes) {
    for (std::size_t i = 0; i < take.places.size(); ++i) {
      const auto shift = shifts.find(take.groups[i]);
      if (shift != shifts.end()) take.places[i] = (take.places[i] + n - shift->second) % n;
    }
  }
}

}  // namespace fourbeat::work
