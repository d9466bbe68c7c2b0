// SPDX-License-Identifier: GPL-3.0-or-later
#include "motion.h"

#include "fourbeat_demo/demo.h"
#include "support/catch.h"
#include "waves.h"

#include "fourbeat/base/wheel.h"

using namespace fourbeat;
using namespace fourbeat::demo;

TEST_CASE("demo motion: a curve passes its knots, stays level outside, never overshoots",
          "[demo]") {
  const std::vector<Knot> knots{{1.0, 10.0}, {2.0, 10.0}, {3.0, 30.0}, {4.0, 20.0}};
  const std::vector<double> v = curve(knots, frames_of(5.0));
  REQUIRE(v.size() == 240000);
  CHECK(v.front() == 10.0);
  CHECK(v[48000] == Approx(10.0));
  CHECK(v[72000] == Approx(10.0));
  CHECK(v[144000] == Approx(30.0));
  CHECK(v[192000] == Approx(20.0));
  CHECK(v.back() == 20.0);
  for (const double x : v) {
    REQUIRE(x > 10.0 - 1e-9);
    REQUIRE(x < 30.0 + 1e-9);
  }
  double worst = 0.0;
  for (std::size_t i = 1; i < v.size(); ++i)
    worst = std::max(worst, std::fabs(v[i] - v[i - 1]));
  CHECK(worst < 0.001);
}

TEST_CASE("demo motion: at a steady speed the beats fall by the closed form of the wheel",
          "[demo]") {
  // Source: geometry: one turn takes pi × D / v, each beat at its own angle of it.
  const model::Engine engine = demo_engine();
  const std::vector<double> v(static_cast<std::size_t>(frames_of(4.0)), 45.0);
  const std::vector<WheelMoment> beats = moments(v, engine, engine.beat_angles_deg);
  const double turn_frames = beat_interval_s(45.0, engine.driver_diameter_mm, 1) * 48000.0;
  REQUIRE(beats.size() == Approx(4.0 * 4.0 * 48000.0 / turn_frames).margin(3.0));
  for (std::size_t k = 0; k < beats.size(); ++k) {
    REQUIRE(beats[k].position == static_cast<int>(k % 4));
    const std::size_t turns_before = k / 4;
    const auto turn = static_cast<double>(turns_before);
    const double due = turn_frames * (turn + engine.beat_angles_deg[k % 4] / 360.0);
    REQUIRE(beats[k].frame == Approx(due).margin(1e-3));
  }
}

TEST_CASE("demo motion: an engine at rest gives no beat", "[demo]") {
  const std::vector<double> still(48000, 0.0);
  CHECK(moments(still, demo_engine(), demo_engine().beat_angles_deg).empty());
}

TEST_CASE("demo engine: uneven angles in order, a wheel and a top speed in range", "[demo]") {
  const model::Engine engine = demo_engine();
  REQUIRE(engine.beat_angles_deg.size() == static_cast<std::size_t>(engine.beats_per_rev));
  CHECK(std::is_sorted(engine.beat_angles_deg.begin(), engine.beat_angles_deg.end()));
  bool uneven = false;
  for (std::size_t k = 0; k < 4; ++k) {
    const double even = 90.0 * static_cast<double>(k);
    CHECK(std::fabs(engine.beat_angles_deg[k] - even) < 10.0);
    uneven = uneven || engine.beat_angles_deg[k] != even;
  }
  CHECK(uneven);
  CHECK(engine.driver_diameter_mm == 1320.0);
  CHECK(engine.top_speed_kmh == 70.0);
}
