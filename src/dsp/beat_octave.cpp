// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_octave.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

namespace fourbeat::dsp {

namespace {

/// How far from its even place an event may stand, in intervals.
constexpr double reach = 0.07;
/// The least strength of such events over the reference: median, and lower quartile.
constexpr double least_median = 0.15;
constexpr double least_quartile = 0.12;
/// They stand out when this many times as strong as what stands elsewhere.
constexpr double stand_out = 3.0;
constexpr std::size_t least_intervals = 6;

/// A fraction of the interval, and where nothing should be if beats stand there.
struct Subdivision {
  int parts = 2;
  std::vector<double> beats;
  std::vector<double> between;
};

double quantile(std::vector<double>& values, double share) {
  const auto rank = static_cast<std::ptrdiff_t>(share * static_cast<double>(values.size() - 1));
  std::nth_element(values.begin(), values.begin() + rank, values.end());
  return values[static_cast<std::size_t>(rank)];
}

class Stretch {
 public:
  Stretch(std::span<Candidate> candidates, std::span<const PathBeat> path)
      : candidates_(candidates), path_(path) {}

  /// Strongest event over its reference within reach of `place` in each interval.
  [[nodiscard]] std::vector<double> events_at(double place) const {
    std::vector<double> events;
    for (std::size_t k = 1; k < path_.size(); ++k) {
      if (path_[k].after_unheard) continue;
      const double from_s = candidates_[path_[k - 1].candidate].time_s;
      const double to_s = candidates_[path_[k].candidate].time_s;
      double best = 0.0;
      for (std::size_t i = path_[k - 1].candidate + 1; i < path_[k].candidate; ++i) {
        const double at = (candidates_[i].time_s - from_s) / (to_s - from_s);
        if (std::fabs(at - place) <= reach)
          best = std::max(best, candidates_[i].strength / candidates_[i].reference);
      }
      events.push_back(best);
    }
    return events;
  }

  /// Strength, over the reference, of beats at the places of `subdivision`; 0: none there.
  [[nodiscard]] double weak_beats(const Subdivision& subdivision) const {
    double least = 1.0;
    double median = 1.0;
    for (const double place : subdivision.beats) {
      std::vector<double> events = events_at(place);
      if (events.size() < least_intervals) return 0.0;
      const double quartile = quantile(events, 0.25);
      if (quartile < least_quartile) return 0.0;
      least = std::min(least, quartile);
      median = std::min(median, quantile(events, 0.5));
    }
    if (median < least_median) return 0.0;
    for (const double place : subdivision.between) {
      std::vector<double> events = events_at(place);
      if (median < stand_out * quantile(events, 0.5)) return 0.0;
    }
    return least;
  }

  void scale_references(double factor) {
    for (std::size_t i = path_.front().candidate; i <= path_.back().candidate; ++i)
      candidates_[i].reference *= factor;
  }

  [[nodiscard]] double middle_rate_hz() const { return path_[path_.size() / 2].rate_hz; }

 private:
  std::span<Candidate> candidates_;
  std::span<const PathBeat> path_;
};

}  // namespace

bool admit_weak_beats(std::span<Candidate> candidates, std::span<const PathBeat> path,
                      double greatest_rate_hz) {
  const std::array<Subdivision, 2> subdivisions = {
      Subdivision{2, {0.5}, {0.25, 0.75}},
      Subdivision{3, {1.0 / 3.0, 2.0 / 3.0}, {0.17, 0.5, 0.83}}};
  bool any = false;
  for (std::size_t first = 0; first < path.size();) {
    std::size_t end = first + 1;
    while (end < path.size() && !path[end].starts)
      ++end;
    const std::span<const PathBeat> part = path.subspan(first, end - first);
    first = end;
    if (part.size() <= least_intervals) continue;
    Stretch stretch(candidates, part);
    for (const Subdivision& subdivision : subdivisions) {
      if (stretch.middle_rate_hz() * subdivision.parts > greatest_rate_hz) continue;
      const double strength = stretch.weak_beats(subdivision);
      if (strength <= 0.0) continue;
      // Three of four weak beats shall have four fifths of the reference and more.
      stretch.scale_references(std::min(1.0, strength / 0.8));
      any = true;
      break;
    }
  }
  return any;
}

}  // namespace fourbeat::dsp
