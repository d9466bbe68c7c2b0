// SPDX-License-Identifier: GPL-3.0-or-later
// What tells a pump's strokes from a wheel's beats when runs are judged together.
#include "beat_source.h"
#include "proved_runs.h"
#include "stretch_parts.h"
#include "support/catch.h"

#include <cstddef>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::tests;

namespace {

/// First beats of the stretches that are left, in seconds.
std::vector<double> left_of(const ProvedRuns& runs) {
  std::vector<ProvedStretch> stretches = runs.stretches;
  remove_pumps(stretches, runs.candidates, runs.path);
  std::vector<double> from_s;
  from_s.reserve(stretches.size());
  for (const ProvedStretch& stretch : stretches)
    from_s.push_back(runs.candidates[runs.path[stretch.first].candidate].time_s);
  return from_s;
}

double free_of(const std::vector<double>& times_s) {
  ProvedRuns runs;
  runs.add(times_s);
  const std::vector<StretchPart> parts = parts_of(runs.stretches, runs.candidates, runs.path);
  REQUIRE(parts.size() == 1);
  return parts.front().signs.free;
}

/// A pump that no one doubts: runs of a minute with rests between.
ProvedRuns sure_pump() {
  Random random(11);
  ProvedRuns runs;
  for (const double from_s : {20.0, 90.0, 160.0, 230.0})
    runs.add(stroke_times(from_s, 90, 0.55, 0.25, 0.02, random));
  return runs;
}

}  // namespace

TEST_CASE("pump runs: a run that looks a wheel's is a pump's if the rest outweighs it", "[dsp]") {
  Random random(3);
  const std::vector<double> chance_s = wheel_times(300.0, 60, 0.6, 0.04, 0.02, random);
  const double free = free_of(chance_s);
  INFO("free: " << free);
  REQUIRE(free < -8.0);   // by itself a wheel's
  REQUIRE(free > -16.0);  // but not by far
  ProvedRuns alone;
  alone.add(chance_s);
  CHECK(left_of(alone).size() == 1);
  ProvedRuns runs = sure_pump();
  REQUIRE(left_of(runs).empty());
  runs.add(chance_s);
  CHECK(left_of(runs).empty());
  // A train that works beside its pump, at the pump's own pace, outweighs it.
  const std::vector<double> train_s = wheel_times(340.0, 250, 0.6, 0.04, 0.02, random);
  REQUIRE(free_of(train_s) < -40.0);
  runs.add(train_s);
  const std::vector<double> left = left_of(runs);
  REQUIRE(left.size() == 1);
  CHECK(left.front() > 339.0);
}

TEST_CASE("pump runs: a known pump is known by single and whole strokes in one run", "[dsp]") {
  // Thirty single strokes, a rest that noise bridges little by little, then thirty whole ones.
  Random random(5);
  std::vector<double> times_s = stroke_times(300.0, 30, 0.6, 0.1, 0.02, random, 0.01);
  for (int i = 0; i < 12; ++i)
    times_s.push_back(times_s.back() + 0.72 + 0.03 * i);
  for (int i = 0; i < 30; ++i)
    times_s.push_back(times_s.back() + 1.15 * (1.0 + 0.02 * random.normal()));
  ProvedRuns alone;
  alone.add(times_s);
  const std::vector<StretchPart> parts = parts_of(alone.stretches, alone.candidates, alone.path);
  REQUIRE(parts.size() == 1);
  INFO("free: " << parts.front().signs.free);
  REQUIRE_FALSE(parts.front().suspect);  // its pace changes too far for one run
  CHECK(left_of(alone).size() == 1);
  ProvedRuns runs = sure_pump();
  runs.add(times_s);
  CHECK(left_of(runs).empty());
}

TEST_CASE("pump runs: a known pump that rests within a run, and is fresher after, stays known",
          "[dsp]") {
  Random random(9);
  std::vector<double> times_s = stroke_times(300.0, 24, 0.62, 0.1, 0.02, random);
  for (const double interval_s : {0.8, 0.84, 0.8})
    times_s.push_back(times_s.back() + interval_s);
  const std::vector<double> fresh_s =
      stroke_times(times_s.back() + 0.6, 24, 0.47, 0.05, 0.02, random);
  times_s.insert(times_s.end(), fresh_s.begin(), fresh_s.end());
  ProvedRuns runs;
  runs.add(times_s);
  const std::vector<StretchPart> parts = parts_of(runs.stretches, runs.candidates, runs.path);
  REQUIRE(parts.size() == 1);
  INFO("free: " << parts.front().signs.free);
  REQUIRE_FALSE(parts.front().suspect);
  REQUIRE(parts.front().signs.speeding_up == 1);
  REQUIRE(parts.front().signs.free > 0.0);
  CHECK(left_of(runs).size() == 1);
  runs = sure_pump();
  runs.add(times_s);
  CHECK(left_of(runs).empty());
}

TEST_CASE("pump runs: runs that stand alone time and again are a pump's", "[dsp]") {
  // So even that the intervals say nothing.
  const auto runs_of = [](double growth, double swell_db) {
    ProvedRuns runs;
    for (const double from_s : {50.0, 150.0, 250.0, 350.0}) {
      const std::vector<double> times_s = even_times(from_s, 30, 0.9, growth);
      std::vector<double> levels_db;
      for (std::size_t i = 0; i < times_s.size(); ++i) {
        const double x = (static_cast<double>(i) - 14.5) / 14.5;
        levels_db.push_back(-swell_db * x * x + (i % 3 == 0 ? 0.5 : -0.5));
      }
      runs.add(times_s, levels_db);
    }
    return runs;
  };
  CHECK(left_of(runs_of(1.0, 0.0)).empty());
  CHECK(left_of(runs_of(0.98, 0.0)).size() == 4);  // a train that sets off each time
  CHECK(left_of(runs_of(1.0, 6.0)).size() == 4);   // one that passes
  // One or two such runs may be any train's.
  ProvedRuns twice = runs_of(1.0, 0.0);
  twice.stretches.resize(2);
  CHECK(left_of(twice).size() == 2);
}
