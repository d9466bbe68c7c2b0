// SPDX-License-Identifier: GPL-3.0-or-later
// What tells a pump's strokes from a wheel's beats when runs are judged together.
#include "beat_source.h"
#include "proved_runs.h"
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

}  // namespace

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
