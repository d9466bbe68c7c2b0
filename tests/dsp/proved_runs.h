// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_path.h"
#include "beat_proof.h"

#include "fourbeat/base/random.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::tests {

/// Stretches that were proved in a take, as from its sound.
struct ProvedRuns {
  std::vector<dsp::Candidate> candidates;
  std::vector<dsp::PathBeat> path;
  std::vector<dsp::ProvedStretch> stretches;

  /// A stretch of beats at such times. levels_db: one a beat; none: all alike.
  void add(std::span<const double> times_s, std::span<const double> levels_db = {}) {
    dsp::ProvedStretch stretch;
    stretch.first = path.size();
    stretch.count = times_s.size();
    stretch.evidence.assign(times_s.size(), 1.0);
    for (std::size_t i = 0; i < times_s.size(); ++i) {
      // The path's rate is smooth: over two intervals, so that the ends of a stroke weigh the same.
      const std::size_t low = i > 0 ? i - 1 : 0;
      const std::size_t high = std::min(low + 2, times_s.size() - 1);
      dsp::Candidate candidate;
      candidate.time_s = times_s[i];
      candidate.level_db = levels_db.empty() ? 0.0 : levels_db[i];
      dsp::PathBeat beat;
      beat.candidate = candidates.size();
      beat.rate_hz = static_cast<double>(high - low) / (times_s[high] - times_s[low]);
      beat.starts = i == 0;
      candidates.push_back(candidate);
      path.push_back(beat);
    }
    stretches.push_back(std::move(stretch));
  }
};

/// Times of `beats` from one on, each interval `growth` times the one before.
inline std::vector<double> even_times(double from_s, std::size_t beats, double interval_s,
                                      double growth = 1.0) {
  std::vector<double> times_s;
  times_s.reserve(beats);
  for (std::size_t i = 0; i < beats; ++i) {
    times_s.push_back(from_s);
    from_s += interval_s;
    interval_s *= growth;
  }
  return times_s;
}

/// A pump's strokes: a late one delays all that follow; its ends take unequal times; it slows down
/// evenly, by `slower` of the first interval at the last. lag: of one end, in intervals.
inline std::vector<double> stroke_times(double from_s, std::size_t strokes, double interval_s,
                                        double slower, double stray, Random& random,
                                        double lag = 0.06) {
  std::vector<double> times_s;
  times_s.reserve(strokes);
  for (std::size_t i = 0; i < strokes; ++i) {
    times_s.push_back(from_s);
    const double course = 1.0 + slower * static_cast<double>(i) / static_cast<double>(strokes);
    from_s += interval_s * course * (i % 2 == 0 ? 1.0 + lag : 1.0 - lag) *
              (1.0 + stray * random.normal());
  }
  return times_s;
}

/// A wheel's beats at such a mean interval: one that comes late does not delay the next, and one of
/// the four of a revolution always comes late, by `late` of an interval.
inline std::vector<double> wheel_times(double from_s, std::size_t beats, double interval_s,
                                       double late, double stray, Random& random) {
  std::vector<double> times_s = even_times(from_s, beats, interval_s);
  for (std::size_t i = 0; i < beats; ++i)
    times_s[i] += interval_s * (stray * random.normal() + (i % 4 == 0 ? late : 0.0));
  return times_s;
}

}  // namespace fourbeat::tests
