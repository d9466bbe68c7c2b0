// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/motion.h"

#include "support/catch.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/model/run_card.h"

#include <tuple>

using namespace fourbeat;
using drive::Controls;
using drive::Motion;

namespace {

constexpr int rate_hz = 44100;

model::Engine engine() {
  model::Engine made;
  made.driver_diameter_mm = 1500.0;
  made.top_speed_kmh = 80.0;
  return made;
}

Controls controls(int step, int cv3, int cv4) {
  Controls made;
  made.throttle_step = step;
  made.cvs.acceleration = cv3;
  made.cvs.deceleration = cv4;
  return made;
}

}  // namespace

TEST_CASE("momentum: seconds a step are CV3 times 0.896 over the steps in use", "[drive]") {
  // NMRA S-9.2.2 (July 2012), CV3: CV3 = 2 at 28 steps gives 0.064 s a step (printed example).
  CHECK(drive::seconds_per_step(2, 28) == Approx(0.064).epsilon(1e-12));
  CHECK(drive::seconds_per_step(255, 14) == Approx(16.32).epsilon(1e-12));
  CHECK(drive::seconds_per_step(30, 28) == Approx(0.960).epsilon(1e-12));
  CHECK(drive::seconds_per_step(1, 128) == Approx(0.896 / 126).epsilon(1e-12));
  CHECK(drive::seconds_per_step(0, 28) == 0.0);
}

TEST_CASE("momentum: CV23 and CV24 are sign and magnitude, held to 0 and 255", "[drive]") {
  // S-9.2.2, CV23 and CV24: bit 7 the sign, bits 0 to 6 the magnitude.
  CHECK(drive::momentum_rate(10, 0x05) == 15);
  CHECK(drive::momentum_rate(10, 0x85) == 5);
  CHECK(drive::momentum_rate(10, 0x80) == 10);
  CHECK(drive::momentum_rate(2, 0x83) == 0);
  CHECK(drive::momentum_rate(200, 0x7F) == 255);
  CHECK(drive::momentum_rate(200, 0xFF) == 73);
}

TEST_CASE("motion: a whole sweep takes CV3 times 0.896 s at 14, 28 and 128 steps", "[drive]") {
  for (const int steps : {14, 28, 128}) {
    for (const int cv3 : {1, 2, 10, 30, 255}) {
      Motion motion(engine(), rate_hz, steps);
      motion.plan(0, controls(model::last_step(steps), cv3, 0));
      CHECK(motion.ramp_frames() / rate_hz == Approx(cv3 * 0.896).epsilon(1e-12));
      CHECK(motion.goal_kmh() == Approx(80.0));
    }
  }
}

TEST_CASE("motion: one step of 28 at CV3 = 2 takes 64 ms, and CV4 slows it alike", "[drive]") {
  Motion motion(engine(), rate_hz, 28);
  motion.plan(0, controls(1, 2, 3));
  CHECK(motion.ramp_frames() == Approx(0.064 * rate_hz).epsilon(1e-12));
  CHECK(motion.speed_kmh(0.032 * rate_hz) == Approx(80.0 / 28 / 2).epsilon(1e-12));
  motion.plan(rate_hz, controls(0, 2, 3));
  CHECK(motion.ramp_frames() == Approx(0.096 * rate_hz).epsilon(1e-12));
  CHECK(motion.speed_kmh(2.0 * rate_hz) == 0.0);
}

TEST_CASE("motion: without momentum the speed jumps to its target", "[drive]") {
  Motion motion(engine(), rate_hz, 128);
  motion.plan(640, controls(63, 0, 0));
  CHECK(motion.speed_kmh(640) == Approx(40.0));
  CHECK(motion.ramp_frames() == 0.0);
}

TEST_CASE("motion: the wheel angle is the integral of speed, through every ramp", "[drive]") {
  Motion motion(engine(), rate_hz, 28);
  motion.plan(0, controls(28, 10, 20));
  const double sweep_frames = 8.96 * rate_hz;
  const double turns_per_frame = 80.0 / 3.6 / wheel_circumference_m(1500.0) / rate_hz;
  CHECK(motion.turns(sweep_frames / 2) ==
        Approx(turns_per_frame * sweep_frames / 8).epsilon(1e-12));
  CHECK(motion.turns(sweep_frames) == Approx(turns_per_frame * sweep_frames / 2).epsilon(1e-12));
  const std::int64_t later = 64L * 10000;
  const double expected =
      turns_per_frame * (sweep_frames / 2 + static_cast<double>(later) - sweep_frames);
  CHECK(motion.turns(static_cast<double>(later)) == Approx(expected).epsilon(1e-12));
  motion.plan(later, controls(0, 10, 20));
  CHECK(motion.turns(static_cast<double>(later)) == Approx(expected).epsilon(1e-12));
  // Slowing from top speed at CV4 = 20 covers half of 17.92 s at top speed.
  CHECK(motion.turns(static_cast<double>(later) + 20.0 * rate_hz) ==
        Approx(expected + turns_per_frame * 17.92 * rate_hz / 2).epsilon(1e-12));
}

TEST_CASE("motion: an angle is reached when the closed form says so, or never", "[drive]") {
  Motion motion(engine(), rate_hz, 128);
  CHECK_FALSE(motion.frames_until(0, 0.25).has_value());  // at rest
  motion.plan(0, controls(126, 10, 10));
  const double slope = 80.0 / 3.6 / wheel_circumference_m(1500.0) / (8.96 * rate_hz) / rate_hz;
  const auto first = motion.frames_until(0, 0.25);
  REQUIRE(first.has_value());
  CHECK(*first == Approx(std::sqrt(2 * 0.25 / slope)).epsilon(1e-12));
  const auto after_ramp = motion.frames_until(30, 0.0);
  REQUIRE(after_ramp.has_value());
  CHECK(motion.turns(*after_ramp) == Approx(30.0).epsilon(1e-12));
  CHECK(motion.frames_until(-1, 0.5) == 0.0);
  motion.plan(64L * 1000, controls(0, 10, 10));  // comes to rest
  const double rest = motion.turns(1e7);
  CHECK(motion.frames_until(static_cast<std::int64_t>(rest), rest - std::floor(rest) - 1e-6));
  CHECK_FALSE(motion.frames_until(static_cast<std::int64_t>(rest) + 1, 0.0).has_value());
}

TEST_CASE("motion: a change of direction goes through rest", "[drive]") {
  Motion motion(engine(), rate_hz, 128);
  motion.plan(0, controls(126, 0, 10));
  Controls back = controls(126, 0, 10);
  back.forward = false;
  motion.plan(640, back);
  CHECK(motion.goal_kmh() == 0.0);
  CHECK(motion.forward());
  CHECK(motion.ramp_frames() == Approx(8.96 * rate_hz));
  motion.plan(640 + 64L * 7000, back);
  CHECK_FALSE(motion.forward());
  CHECK(motion.goal_kmh() == Approx(80.0));
}

TEST_CASE("motion: load and gradient stretch momentum by the documented factors", "[drive]") {
  CHECK(drive::acceleration_factor(0.0, 0.0) == 1.0);
  CHECK(drive::acceleration_factor(1.0, 0.0) == 2.0);
  CHECK(drive::acceleration_factor(0.5, 2.5) == Approx(1.5 * 1.5));
  CHECK(drive::deceleration_factor(0.5, 2.5) == Approx(1.5 * 0.5));
  CHECK(drive::acceleration_factor(0.0, 50.0) == 2.0);
  CHECK(drive::deceleration_factor(0.0, 50.0) == 0.5);
  Motion motion(engine(), rate_hz, 128);
  Controls heavy = controls(126, 10, 10);
  heavy.load = 1.0;
  motion.plan(0, heavy);
  CHECK(motion.ramp_frames() == Approx(2 * 8.96 * rate_hz));
}

TEST_CASE("motion: a weak engine gains speed up to twenty times as slowly", "[drive]") {
  // Of the 126 steps it reaches its share, each of 8.96 s / 126 over its pull.
  for (const auto& [pull, steps, times] :
       {std::tuple{0.5, 63, 2.0}, std::tuple{0.05, 6, 20.0}, std::tuple{0.02, 2, 20.0}}) {
    CAPTURE(pull);
    Motion motion(engine(), rate_hz, 128);
    Controls weak = controls(126, 10, 10);
    weak.pull = pull;
    motion.plan(0, weak);
    CHECK(motion.ramp_frames() == Approx(times * 8.96 * steps / 126.0 * rate_hz));
  }
}
