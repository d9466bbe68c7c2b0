// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/wheel.h"

#include "support/catch.h"

#include "fourbeat/base/speed_units.h"

using namespace fourbeat;

namespace {
constexpr double mm_per_inch = 25.4;
}  // namespace

TEST_CASE("wheel: worked speeds by hand", "[base]") {
  // Source: geometry, turns a mile = 63360 / (pi × D in inches).
  CHECK(beat_interval_s(60 * km_per_mile, 63 * mm_per_inch, 4) == Approx(0.04686).margin(5e-6));
  CHECK(beat_interval_s(100, 2000, 4) == Approx(0.05655).margin(5e-6));
  CHECK(wheel_rpm(60 * km_per_mile, 66 * mm_per_inch) == Approx(305.577).margin(5e-4));
  // Source: T. C. Clarke et al., The American Railway (1889): 60 mph on a 5.5 ft driver is five
  // turns a second.
  CHECK(std::floor(wheel_rpm(60 * km_per_mile, 66 * mm_per_inch) / 60.0) == 5.0);
}

TEST_CASE("wheel: at diameter speed every driver turns 336 times a minute", "[base]") {
  // Source: builders' handbooks of the 1890s (the sentence from memory, the arithmetic exact).
  for (const double inches : {44.0, 63.0, 84.0}) {
    CHECK(wheel_rpm(inches * km_per_mile, inches * mm_per_inch) == Approx(336.135).margin(5e-4));
  }
}

TEST_CASE("wheel: speed and interval are each other's inverse", "[base]") {
  CHECK(beat_speed_kmh(beat_interval_s(47.5, 1420, 6), 1420, 6) == Approx(47.5));
}

TEST_CASE("wheel: the time of a way is the root of the law of motion", "[base]") {
  for (const double speed : {0.0, 0.5, 4.0}) {
    for (const double slope : {0.0, 1e-12, 0.3, 2.0}) {
      if (speed == 0.0 && slope < 1e-6) continue;
      for (const double way : {0.25, 1.0, 30.0}) {
        const double t = time_of_turns(way, speed, slope);
        CHECK(speed * t + 0.5 * slope * t * t == Approx(way).epsilon(1e-12));
      }
    }
  }
  CHECK(time_of_turns(0.0, 0.0, 0.0) == 0.0);
  // 2 turns a second, losing 1 each second: it stands after 2 s and 2 turns.
  CHECK(time_of_turns(2.0, 2.0, -1.0) == Approx(2.0));
}
