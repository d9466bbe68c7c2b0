// SPDX-License-Identifier: GPL-3.0-or-later
// What the effort is judged by; docs/drive.md, section 5.
#include "effort.h"

#include "support/catch.h"

using namespace fourbeat::drive;
using fourbeat::model::Effort;

namespace {

/// The effort of an engine that ran evenly until it lacks so much speed, or pulls so much.
Effort effort_of(double top_speed_kmh, double lack_kmh, double load = 0.0,
                 double gradient_percent = 0.0) {
  EffortRule rule(top_speed_kmh, 0.0, 44100);
  Work work;
  work.speed_kmh = 0.5 * top_speed_kmh;
  work.goal_kmh = work.speed_kmh;
  rule.update(work);
  work.frame = 64;
  work.goal_kmh += lack_kmh;
  work.load = load;
  work.gradient_percent = gradient_percent;
  return rule.update(work);
}

}  // namespace

TEST_CASE("effort: what speed lacks counts from a twentieth of the top speed, 2 km/h at least",
          "[drive]") {
  CHECK(effort_of(80.0, 3.9) == Effort::easy);
  CHECK(effort_of(80.0, 4.1) == Effort::hard);
  CHECK(effort_of(80.0, -3.9) == Effort::easy);
  CHECK(effort_of(80.0, -4.1) == Effort::drifting);
  CHECK(effort_of(20.0, 1.9) == Effort::easy);
  CHECK(effort_of(20.0, 2.1) == Effort::hard);
  CHECK(effort_of(20.0, -1.9) == Effort::easy);
  CHECK(effort_of(20.0, -2.1) == Effort::drifting);
}

TEST_CASE("effort: at steady speed load times gradient decides, from 1 percent on", "[drive]") {
  CHECK(effort_of(80.0, 0.0, 1.0, 0.95) == Effort::easy);
  CHECK(effort_of(80.0, 0.0, 1.0, 1.0) == Effort::hard);
  CHECK(effort_of(80.0, 0.0, 0.5, 2.0) == Effort::hard);
  CHECK(effort_of(80.0, 0.0, 0.5, 1.9) == Effort::easy);
  CHECK(effort_of(80.0, 0.0, 1.0, -0.95) == Effort::easy);
  CHECK(effort_of(80.0, 0.0, 1.0, -1.0) == Effort::drifting);
}
