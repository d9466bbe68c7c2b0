// SPDX-License-Identifier: GPL-3.0-or-later
// What a few strokes in a long take are taken for.
#include "lone_strokes.h"

#include "proved_runs.h"
#include "support/catch.h"

#include <cstddef>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::tests;

namespace {

bool are_lone(const ProvedRuns& runs, double take_s = 600.0) {
  return are_lone_strokes(runs.stretches, runs.candidates, runs.path, take_s);
}

ProvedRuns run_of(std::span<const double> times_s, std::span<const double> levels_db = {}) {
  ProvedRuns runs;
  runs.add(times_s, levels_db);
  return runs;
}

ProvedRuns run(double from_s, std::size_t beats, double interval_s, double growth = 1.0) {
  return run_of(even_times(from_s, beats, interval_s, growth));
}

/// Levels that rise by so much to the middle and fall again, each beat's own stray added.
std::vector<double> swell_db(std::size_t beats, double rise_db, double stray_db) {
  Random random(7);
  std::vector<double> levels_db;
  for (std::size_t i = 0; i < beats; ++i) {
    const double x = 2.0 * static_cast<double>(i) / static_cast<double>(beats - 1) - 1.0;
    levels_db.push_back(-rise_db * x * x + stray_db * random.normal());
  }
  return levels_db;
}

}  // namespace

TEST_CASE("lone strokes: few in a long take, at a pump's pace, are none of an engine's", "[dsp]") {
  CHECK(are_lone(run(100.0, 30, 0.9)));
  CHECK(are_lone(run(100.0, 84, 0.6)));
  ProvedRuns twice = run(100.0, 30, 0.5);
  twice.add(even_times(400.0, 30, 0.5));
  CHECK(are_lone(twice));
  CHECK(are_lone(run(100.0, 30, 0.9, 1.01)));  // a pump slows down
  CHECK(are_lone(run(100.0, 20, 0.8, 1.04)));  // by more than one run of a pump's is known to
}

TEST_CASE("lone strokes: what may be a train's is kept", "[dsp]") {
  CHECK_FALSE(are_lone(run(100.0, 85, 0.6)));        // as many as a train is heard to pass with
  CHECK_FALSE(are_lone(run(5.0, 30, 0.9)));          // it may have been under way
  CHECK_FALSE(are_lone(run(100.0, 30, 1.2, 0.97)));  // sets off
  CHECK_FALSE(are_lone(run(100.0, 30, 0.2)));        // too fast for a pump
  CHECK_FALSE(are_lone(run(100.0, 12, 4.0)));        // too slow
  CHECK_FALSE(are_lone(run(20.0, 30, 0.9), 120.0));  // a good part of the take
  ProvedRuns beside_train = run(100.0, 30, 0.9);
  beside_train.add(even_times(300.0, 120, 0.25));
  CHECK_FALSE(are_lone(beside_train));
}

TEST_CASE("lone strokes: a train that sets off and then runs evenly is kept", "[dsp]") {
  // Twice as fast in the end: an octave, but reached little by little.
  std::vector<double> times_s = even_times(100.0, 12, 1.0, 0.94);
  const std::vector<double> then_s = even_times(times_s.back() + 0.5, 40, 0.5);
  times_s.insert(times_s.end(), then_s.begin(), then_s.end());
  CHECK_FALSE(are_lone(run_of(times_s)));
}

TEST_CASE("lone strokes: single strokes among whole ones are no gain of pace", "[dsp]") {
  // The last two of them by single strokes; then a third in the middle.
  std::vector<double> times_s = even_times(100.0, 18, 1.6);
  times_s.push_back(times_s.back() + 0.8);
  times_s.push_back(times_s.back() + 0.8);
  CHECK(are_lone(run_of(times_s)));
  times_s = even_times(100.0, 12, 1.6);
  for (const std::vector<double>& more :
       {even_times(times_s.back() + 0.8, 12, 0.8), even_times(times_s.back() + 11.2, 12, 1.6)})
    times_s.insert(times_s.end(), more.begin(), more.end());
  CHECK(are_lone(run_of(times_s)));
}

TEST_CASE("lone strokes: beats that grow louder and softer again are a train's that passes",
          "[dsp]") {
  const std::vector<double> times_s = even_times(100.0, 40, 0.6);
  CHECK_FALSE(are_lone(run_of(times_s, swell_db(40, 6.0, 1.0))));
  CHECK(are_lone(run_of(times_s, swell_db(40, 0.0, 1.0))));
  CHECK(are_lone(run_of(times_s, swell_db(40, -6.0, 1.0))));  // softer in the middle
  // Only ever louder, or softer: no train that passes, but gusts beside a pump.
  std::vector<double> rising_db;
  for (std::size_t i = 0; i < times_s.size(); ++i)
    rising_db.push_back(0.3 * static_cast<double>(i) - 0.001 * static_cast<double>(i * i));
  CHECK(are_lone(run_of(times_s, rising_db)));
}

TEST_CASE("lone strokes: those after silence are counted, and no others", "[dsp]") {
  ProvedRuns runs = run(100.0, 30, 0.9);
  runs.add(even_times(runs.candidates.back().time_s + 9.0, 30, 0.9));
  runs.add(even_times(400.0, 30, 0.9, 0.97));  // sets off
  runs.add(even_times(500.0, 30, 0.9));
  std::vector<StretchPart> parts = parts_of(runs.stretches, runs.candidates, runs.path);
  count_lone(parts, runs.candidates);
  REQUIRE(parts.size() == 4);
  CHECK(parts[0].signs.lone == 1);
  CHECK(parts[1].signs.lone == 0);
  CHECK(parts[2].signs.lone == 0);
  CHECK(parts[3].signs.lone == 1);
}
