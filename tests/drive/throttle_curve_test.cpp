// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/throttle_curve.h"

#include "support/catch.h"
#include "twin_set.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/drive/motion.h"
#include "fourbeat/model/run_card.h"

#include <initializer_list>
#include <utility>

using namespace fourbeat;
using drive::CvBank;
using drive::Motion;
using drive::ThrottleCurve;

namespace {

constexpr int rate_hz = 44100;
constexpr double top_kmh = 80.0;

CvBank bank(std::initializer_list<std::pair<int, int>> values) {
  CvBank made;
  for (const auto& [number, value] : values)
    made.set(number, value);
  return made;
}

/// The table in force, each entry of 28 as `entry` says.
template <class Entry>
CvBank table(const Entry& entry) {
  CvBank made = bank({{29, 0x12}});
  for (int step = 1; step <= 28; ++step)
    made.set(66 + step, entry(step));
  return made;
}

double level(const CvBank& cvs, int speed_steps, int step, bool forward = true) {
  return drive::throttle_curve(cvs, speed_steps, forward).level[static_cast<std::size_t>(step)];
}

Motion moving(const CvBank& cvs, int speed_steps) {
  model::Engine engine;
  engine.driver_diameter_mm = 1500.0;
  engine.top_speed_kmh = top_kmh;
  Motion motion(engine, rate_hz, speed_steps);
  motion.set_curves(drive::throttle_curve(cvs, speed_steps, true),
                    drive::throttle_curve(cvs, speed_steps, false));
  return motion;
}

drive::Controls controls(int step, int cv3, int cv4) {
  drive::Controls made;
  made.throttle_step = step;
  made.cvs.acceleration = cv3;
  made.cvs.deceleration = cv4;
  return made;
}

/// A table that climbs slowly, then fast.
CvBank late_table() {
  return table([](int step) { return 255 * step * step / (28 * 28); });
}

}  // namespace

TEST_CASE("throttle curve: a set that names no CV of it has the straight line", "[drive]") {
  for (const int steps : {14, 28, 128}) {
    const ThrottleCurve curve = drive::throttle_curve(bank({{3, 10}, {29, 2}}), steps, true);
    const int last = model::last_step(steps);
    CHECK(curve.last_step == last);
    CHECK(curve.level[0] == 0.0);
    for (int step = 1; step <= last; ++step)
      CHECK(curve.level[static_cast<std::size_t>(step)] == Approx(1.0 * step / last));
    CHECK(curve == drive::straight_curve(steps));
  }
}

TEST_CASE("throttle curve: CV2, 6 and 5 are levels at the first, middle and last step", "[drive]") {
  // S-9.2.2 (July 2012), CV2, CV5, CV6: fractions of full drive, 255 = full; CV5 and CV6 0 or 1:
  // not used.
  const CvBank bent = bank({{2, 25}, {6, 102}, {5, 204}});
  CHECK(level(bent, 28, 0) == 0.0);
  CHECK(level(bent, 28, 1) == Approx(25.0 / 255));
  CHECK(level(bent, 28, 14) == Approx(0.4));
  CHECK(level(bent, 28, 21) == Approx(0.6));
  CHECK(level(bent, 28, 28) == Approx(0.8));
  CHECK(level(bent, 14, 7) == Approx(0.4));
  CHECK(level(bent, 128, 63) == Approx(0.4));
  for (const int unused : {0, 1}) {
    const CvBank plain = bank({{2, 51}, {5, unused}, {6, unused}});
    CHECK(level(plain, 28, 28) == 1.0);
    CHECK(level(plain, 28, 1) == Approx(0.2));
    CHECK(level(plain, 128, 126) == 1.0);
  }
  CHECK(level(bank({{5, 128}}), 28, 14) == Approx(64.0 / 255));  // straight from rest to CV5
}

TEST_CASE("throttle curve: CV25 moves the middle on the scale of 28 steps", "[drive]") {
  // S-9.2.2, CV25: 128 to 154 place the middle; out of that range it is step 14 of 28.
  for (const auto& [place, step] : {std::pair(128 + 6, 7), {128 + 20, 21}, {154, 26}, {153, 26}}) {
    CAPTURE(place);
    CHECK(level(bank({{6, 102}, {25, place}}), 28, step) == Approx(0.4));
  }
  for (const int place : {0, 1, 155, 255})
    CHECK(level(bank({{6, 102}, {25, place}}), 28, 14) == Approx(0.4));
  // In 14 steps it is halved.
  CHECK(level(bank({{6, 102}, {25, 128 + 7}}), 14, 4) == Approx(0.4));
}

TEST_CASE("throttle curve: with CV29 bit 4 the table rules, whatever CV2, 5 and 6 say", "[drive]") {
  // S-9.2.2, CV67 to 94: entry n is step n of 28; 64 is a quarter of full drive (64 / 255 here, as
  // 255 is full).
  const CvBank steep = table([](int step) { return step == 1 ? 64 : 64 + 7 * (step - 1); });
  CHECK(level(steep, 28, 1) == Approx(64.0 / 255));
  CHECK(level(steep, 28, 14) == Approx((64.0 + 91) / 255));
  CHECK(level(steep, 14, 7) == level(steep, 28, 14));  // every second entry
  CHECK(level(steep, 128, 63) == level(steep, 28, 14));
  // Between entries a straight line (RCN-225 leaves it to the decoder to skip or interpolate).
  CHECK(level(steep, 128, 65) == Approx((64.0 + 7 * (65.0 * 28 / 126 - 1)) / 255));
  CHECK(level(steep, 128, 1) == Approx(64.0 / 255 * 28 / 126));
  CvBank both = steep;
  both.set(2, 200);
  both.set(5, 10);
  CHECK(drive::throttle_curve(both, 128, true) == drive::throttle_curve(steep, 128, true));
  both.set(29, 2);
  CHECK(level(both, 28, 1) == Approx(200.0 / 255));
}

TEST_CASE("throttle curve: CV66 and CV95 trim it by direction, never above full", "[drive]") {
  // S-9.2.2, CV66 and CV95: n / 128, 0 no trim.
  const CvBank trimmed = bank({{66, 64}, {95, 192}});
  CHECK(level(trimmed, 28, 28, true) == Approx(0.5));
  CHECK(level(trimmed, 28, 14, false) == Approx(0.75));
  CHECK(level(trimmed, 28, 28, false) == 1.0);
  CHECK(level(bank({{66, 0}, {95, 128}}), 28, 20, true) == Approx(20.0 / 28));
  CHECK(level(bank({{66, 0}, {95, 128}}), 28, 20, false) == Approx(20.0 / 28));
}

TEST_CASE("motion: under a bent curve each step still takes its time, to the millisecond",
          "[drive]") {
  for (const int steps : {14, 28, 128}) {
    for (const int cv3 : {1, 10, 120}) {
      CAPTURE(steps, cv3);
      const int last = model::last_step(steps);
      Motion motion = moving(late_table(), steps);
      motion.plan(0, controls(last, cv3, 0));
      const ThrottleCurve curve = drive::throttle_curve(late_table(), steps, true);
      const double step_s = drive::seconds_per_step(cv3, steps);
      for (int step = 1; step <= last; ++step) {
        CHECK(motion.speed_kmh(step * step_s * rate_hz) ==
              Approx(top_kmh * curve.level[static_cast<std::size_t>(step)]).margin(1e-9));
      }
      CHECK(motion.ramp_frames() / rate_hz == Approx(cv3 * 0.896).epsilon(1e-12));
    }
  }
}

TEST_CASE("motion: under a bent curve the wheel's angle is the integral of speed", "[drive]") {
  Motion motion = moving(late_table(), 28);
  motion.plan(0, controls(28, 10, 5));
  motion.plan(64L * 3000, controls(9, 10, 5));  // turned back half way
  const double turns_per_frame = 1.0 / (3.6 * wheel_circumference_m(1500.0) * rate_hz);
  double sum = motion.turns(64L * 3000);
  constexpr int step_frames = 8;
  for (int frame = 64L * 3000; frame < 64L * 9000; frame += step_frames) {
    // Simpson's rule; speed bends at few places, so the error is far below a beat's frame.
    sum += turns_per_frame * step_frames / 6.0 *
           (motion.speed_kmh(frame) + 4.0 * motion.speed_kmh(frame + step_frames / 2.0) +
            motion.speed_kmh(frame + step_frames));
  }
  CHECK(motion.turns(64L * 9000) == Approx(sum).epsilon(1e-9));
  // And an angle is reached when the wheel is there.
  const auto from = static_cast<std::int64_t>(motion.turns(64L * 3000)) + 1;
  for (std::int64_t turn = from; turn < from + 6; ++turn) {
    const auto frames = motion.frames_until(turn, 0.5);
    REQUIRE(frames);
    CHECK(motion.turns(static_cast<double>(motion.plan_frame()) + *frames) ==
          Approx(static_cast<double>(turn) + 0.5).epsilon(1e-12));
  }
}

TEST_CASE("motion: a curve changed under way does not make the speed jump", "[drive]") {
  Motion motion = moving(late_table(), 128);
  motion.plan(0, controls(100, 10, 10));
  const std::int64_t changed = 64L * 4000;
  const double before_kmh = motion.speed_kmh(static_cast<double>(changed));
  motion.set_curves(drive::straight_curve(128), drive::straight_curve(128));
  motion.plan(changed, controls(100, 10, 10));
  CHECK(motion.speed_kmh(static_cast<double>(changed)) == Approx(before_kmh).epsilon(1e-12));
  CHECK(motion.goal_kmh() == Approx(top_kmh * 100 / 126));
  // A speed that no step has any more cannot be held.
  motion.plan(64L * 12000, controls(126, 0, 10));
  CHECK(motion.speed_kmh(64L * 12000) == Approx(top_kmh));
  const ThrottleCurve half = drive::throttle_curve(bank({{5, 128}}), 128, true);
  motion.set_curves(half, half);
  motion.plan(64L * 12001, controls(126, 0, 10));
  CHECK(motion.speed_kmh(64L * 12001) == Approx(top_kmh * 128 / 255));
}

TEST_CASE("motion: each direction has its own trim, and the curve turns at rest", "[drive]") {
  Motion motion = moving(bank({{66, 64}, {95, 96}}), 28);
  drive::Controls asked = controls(28, 0, 10);
  motion.plan(0, asked);
  CHECK(motion.speed_kmh(0) == Approx(40.0));
  asked.forward = false;
  motion.plan(64, asked);
  CHECK(motion.forward());
  CHECK(motion.goal_kmh() == 0.0);
  const auto rest = static_cast<std::int64_t>(8.96 * rate_hz) + 128;
  motion.plan(rest, asked);
  CHECK_FALSE(motion.forward());
  CHECK(motion.goal_kmh() == Approx(60.0));
}

TEST_CASE("drive: under a speed table each step is reached when S-9.2.2 says so", "[drive]") {
  tests::TwinSet twin;
  twin.set_cv(3, 20);
  twin.set_cv(29, 0x12);
  for (int step = 1; step <= 28; ++step)
    twin.set_cv(66 + step, 255 * step * step / (28 * 28));
  model::RunCard card;
  card.seconds = 20.0;
  card.speed_steps = 28;
  card.moves = {tests::throttle(0.0, 28)};
  const auto output = tests::drive_well(twin.compile(), card);
  const auto speeds = tests::events_of(output, drive::EventKind::speed);
  REQUIRE(speeds.size() == 200);
  for (std::size_t i = 0; i < speeds.size(); ++i) {
    // 20 × 0.896 / 28 = 0.64 s a step.
    const double step = std::min(28.0, 0.1 * static_cast<double>(i) / 0.64);
    const auto entry = [](double at) {
      return std::floor(255.0 * at * at / (28.0 * 28.0)) / 255.0 * top_kmh;
    };
    const double below = std::floor(step);
    CHECK(speeds[i].speed_kmh ==
          Approx(entry(below) + (step - below) * (entry(below + 1.0) - entry(below))).margin(1e-6));
  }
}

TEST_CASE("drive: CV5, CV29 and the table act while the engine runs", "[drive]") {
  tests::TwinSet twin;
  model::RunCard card;
  card.seconds = 6.0;
  const auto cv = [](double time_s, int number, int value) {
    return model::Move{time_s, model::MoveCv{number, value}};
  };
  card.moves = {tests::throttle(0.0, 126), cv(1.0, 5, 102),   cv(2.0, 94, 51),
                cv(3.0, 29, 0x10),         cv(4.0, 29, 0x11), tests::throttle(5.0, 0)};
  twin.set_cv(3, 0);
  twin.set_cv(4, 0);
  const auto jumping = tests::drive_well(twin.compile(), card);
  const auto at = [&](double time_s) {
    return tests::events_of(jumping, drive::EventKind::speed)
        .at(static_cast<std::size_t>(std::lround(10.0 * time_s)))
        .speed_kmh;
  };
  CHECK(at(0.5) == Approx(top_kmh));
  CHECK(at(1.5) == Approx(top_kmh * 0.4));
  CHECK(at(2.5) == Approx(top_kmh * 0.4));  // the table is not in force yet
  CHECK(at(3.5) == Approx(top_kmh * 0.2));
  CHECK(at(4.5) == Approx(top_kmh * 0.2));  // the other way round, by way of rest
  CHECK(at(5.5) == 0.0);
  const auto states = tests::events_of(jumping, drive::EventKind::state);
  const auto stood = std::count_if(states.begin(), states.end(), [](const drive::Event& event) {
    return event.text == "stopping" || event.text == "standing";
  });
  CHECK(stood >= 2);
}
