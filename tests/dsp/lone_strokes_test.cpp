// SPDX-License-Identifier: GPL-3.0-or-later
// What a few strokes in a long take are taken for.
#include "beat_source.h"
#include "support/catch.h"

#include <cmath>
#include <cstddef>
#include <vector>

using namespace fourbeat::dsp;

namespace {

/// Stretches that were proved in a take of ten minutes.
struct Proved {
  std::vector<Candidate> candidates;
  std::vector<PathBeat> path;
  std::vector<ProvedStretch> stretches;

  /// `beats` from a time on; each interval is `growth` times the one before.
  void add(double from_s, std::size_t beats, double interval_s, double growth = 1.0) {
    ProvedStretch stretch;
    stretch.first = path.size();
    stretch.count = beats;
    stretch.evidence.assign(beats, 1.0);
    double at_s = from_s;
    for (std::size_t i = 0; i < beats; ++i) {
      Candidate candidate;
      candidate.time_s = at_s;
      PathBeat beat;
      beat.candidate = candidates.size();
      beat.rate_hz = 1.0 / interval_s;
      beat.starts = i == 0;
      candidates.push_back(candidate);
      path.push_back(beat);
      at_s += interval_s;
      interval_s *= growth;
    }
    stretches.push_back(std::move(stretch));
  }
  [[nodiscard]] bool lone(double take_s = 600.0) const {
    return are_lone_strokes(stretches, candidates, path, take_s);
  }
};

Proved run(double from_s, std::size_t beats, double interval_s, double growth = 1.0) {
  Proved proved;
  proved.add(from_s, beats, interval_s, growth);
  return proved;
}

}  // namespace

TEST_CASE("lone strokes: few in a long take, at a pump's pace, are none of an engine's", "[dsp]") {
  CHECK(run(100.0, 30, 0.9).lone());
  CHECK(run(100.0, 39, 0.6).lone());
  Proved twice = run(100.0, 30, 0.5);
  twice.add(400.0, 30, 0.5);
  CHECK(twice.lone());
  CHECK(run(100.0, 30, 0.9, 1.01).lone());  // a pump slows down
}

TEST_CASE("lone strokes: what may be a train's is kept", "[dsp]") {
  CHECK_FALSE(run(100.0, 40, 0.6).lone());        // as many as a train is heard to pass with
  CHECK_FALSE(run(5.0, 30, 0.9).lone());          // it may have been under way
  CHECK_FALSE(run(100.0, 30, 1.2, 0.97).lone());  // sets off
  CHECK_FALSE(run(100.0, 30, 0.2).lone());        // too fast for a pump
  CHECK_FALSE(run(100.0, 12, 4.0).lone());        // too slow
  CHECK_FALSE(run(20.0, 30, 0.9).lone(120.0));    // a good part of the take
  Proved beside_train = run(100.0, 30, 0.9);
  beside_train.add(300.0, 120, 0.25);
  CHECK_FALSE(beside_train.lone());
}

TEST_CASE("lone strokes: the last strokes of a run may be followed one by one", "[dsp]") {
  Proved proved = run(100.0, 20, 1.6);
  // The last two of them by single strokes: no train that sets off.
  for (std::size_t i = 18; i < 20; ++i)
    proved.candidates[i].time_s = proved.candidates[i - 1].time_s + 0.8;
  CHECK(proved.lone());
}
