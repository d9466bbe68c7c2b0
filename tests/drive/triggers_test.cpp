// SPDX-License-Identifier: GPL-3.0-or-later
#include "living_twin.h"
#include "support/catch.h"

#include "fourbeat/drive/engine.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::model;
using drive::EventKind;

namespace {

/// Frames of the impulses that triggers set off.
std::vector<std::int64_t> impulses(const LivingTwin& twin, const RunCard& card) {
  drive::DriveOptions options;
  options.stems = true;
  return sounding_frames(drive_well(twin.compile(), card, options).stems.at("beds"));
}

std::int64_t rest_frame(const drive::DriveOutput& output) {
  for (const drive::Event& event : events_of(output, EventKind::state)) {
    if (event.text == "standing" && event.frame > 0) return event.frame;
  }
  return -1;
}

}  // namespace

TEST_CASE("triggers: each event of a drive sets off its own, once", "[drive]") {
  struct Told {
    TriggerEvent event;
    double speed_kmh;
    std::size_t times;
  };
  // Off at 1 s, up to 40 km/h, shut off at 6 s, at rest some 4.5 s later; reversed at 15 s.
  const RunCard card = card_of(
      20.0, {throttle(1.0, 63), throttle(6.0, 0), direction(15.0, false), throttle(16.0, 0)});
  for (const Told& told :
       {Told{TriggerEvent::leaving_rest, 0, 1}, Told{TriggerEvent::at_rest, 0, 1},
        Told{TriggerEvent::regulator_opened, 0, 1}, Told{TriggerEvent::regulator_closed, 0, 1},
        Told{TriggerEvent::speed_rises, 20, 1}, Told{TriggerEvent::speed_falls, 20, 1},
        Told{TriggerEvent::speed_rises, 41, 0}, Told{TriggerEvent::reversing, 0, 1},
        Told{TriggerEvent::power_off, 0, 0}, Told{TriggerEvent::sound_on, 0, 0},
        Told{TriggerEvent::blows_off, 0, 0}, Told{TriggerEvent::slips, 0, 0}}) {
    LivingTwin twin;
    twin.set_cv(3, 5);
    twin.set_cv(4, 10);
    Trigger trigger = start_on(told.event, twin.add_impulse());
    trigger.speed_kmh = told.speed_kmh;
    twin.add_trigger(trigger);
    INFO("event " << static_cast<int>(told.event));
    CHECK(impulses(twin, card).size() == told.times);
  }
}

TEST_CASE(
    "triggers: a speed crossed is told on the grid point after it, and again only once it was "
    "left behind",
    "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 10);
  Trigger trigger = start_on(TriggerEvent::speed_rises, twin.add_impulse());
  trigger.speed_kmh = 40.0;
  twin.add_trigger(trigger);
  // From rest, 8.96 s to 80 km/h: 40 km/h after 4.48 s. Then to and fro over 40 by 0.3 km/h.
  RunCard card = card_of(12.0, {throttle(0.0, 126)});
  const auto crossing = static_cast<std::int64_t>(4.48 * twin_rate_hz);
  const auto once = impulses(twin, card);
  REQUIRE(once.size() == 1);
  CHECK(once[0] >= crossing);
  CHECK(once[0] <= crossing + drive::control_grid_frames);

  twin.set_cv(3, 0);
  card.moves = {throttle(0.0, 64)};  // 40.6 km/h
  for (int i = 1; i < 10; ++i)
    card.moves.push_back(throttle(i, i % 2 == 0 ? 64 : 62));  // and 39.4
  CHECK(impulses(twin, card).size() == 1);
  card.moves.push_back(throttle(10.5, 50));
  card.moves.push_back(throttle(11.0, 64));
  CHECK(impulses(twin, card).size() == 2);
}

TEST_CASE("triggers: a speed near rest is left behind at rest", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 2);
  twin.set_cv(4, 2);
  Trigger trigger = start_on(TriggerEvent::speed_rises, twin.add_impulse());
  trigger.speed_kmh = 0.5;
  twin.add_trigger(trigger);
  const RunCard card = card_of(9.0, {throttle(0.0, 60), throttle(3.0, 0), throttle(6.0, 60)});
  CHECK(impulses(twin, card).size() == 2);
}

TEST_CASE("triggers: a delay is kept to the frame, a chance over many, both from the card's seed",
          "[drive]") {
  LivingTwin twin;
  Trigger trigger = start_on(TriggerEvent::state_entered, twin.add_impulse());
  trigger.state = State::standing;
  trigger.delay_s = 0.75;
  twin.add_trigger(trigger);
  CHECK(impulses(twin, card_of(1.0, {})) ==
        std::vector<std::int64_t>{static_cast<std::int64_t>(0.75 * twin_rate_hz)});

  twin.project.triggers[0].delay_s = 0.0;
  twin.project.triggers[0].event = TriggerEvent::leaving_rest;
  twin.project.triggers[0].chance = 0.5;
  RunCard card = card_of(200.0, {});
  for (int i = 0; i < 200; ++i) {
    card.moves.push_back(throttle(i, 20));
    card.moves.push_back(throttle(i + 0.5, 0));
  }
  const auto first = impulses(twin, card);
  CHECK(first.size() > 70);  // 4.2 standard deviations of a fair coin
  CHECK(first.size() < 130);
  CHECK(impulses(twin, card) == first);
  card.seed = 2;
  CHECK(impulses(twin, card) != first);
}

TEST_CASE("triggers: every so often, while in force, at times drawn between the two given",
          "[drive]") {
  LivingTwin twin;
  Trigger trigger = start_on(TriggerEvent::every, twin.add_impulse());
  trigger.every = TimeSpan{2.0, 5.0, {}};
  trigger.when.states = {State::standing};
  twin.add_trigger(trigger);
  const auto frames = impulses(twin, card_of(600.0, {throttle(300.0, 40)}));
  REQUIRE(frames.size() > 60);
  double least = 1e9;
  double most = 0.0;
  for (std::size_t i = 1; i < frames.size(); ++i) {
    const double gap_s = static_cast<double>(frames[i] - frames[i - 1]) / twin_rate_hz;
    least = std::min(least, gap_s);
    most = std::max(most, gap_s);
  }
  CHECK(least >= 2.0 - 0.002);
  CHECK(least < 2.3);
  CHECK(most <= 5.0 + 0.002);
  CHECK(most > 4.7);
  CHECK(frames.back() < static_cast<std::int64_t>(300.0 * twin_rate_hz));
}

TEST_CASE("triggers: a start sound holds the motion until it is done, or its limit", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 5);
  Trigger trigger =
      start_on(TriggerEvent::leaving_rest, twin.add_shot(clip_of(sine(66150, true, true))));
  trigger.holds_motion_s = 4.0;
  twin.add_trigger(trigger);
  const auto first_moving = [&] {
    const auto output = drive_well(twin.compile(), card_of(8.0, {throttle(1.0, 126)}));
    for (const drive::Event& event : events_of(output, EventKind::speed)) {
      if (event.speed_kmh > 0.0) return static_cast<double>(event.frame) / twin_rate_hz;
    }
    return -1.0;
  };
  CHECK(first_moving() == Approx(2.6).margin(0.11));  // 1 + 1.5 s of sound; told every 100 ms
  twin.project.triggers[0].holds_motion_s = 0.7;
  CHECK(first_moving() == Approx(1.8).margin(0.11));
  twin.project.triggers[0].holds_motion_s = 0.0;
  CHECK(first_moving() == Approx(1.1).margin(0.11));
  // A sound that finds no voice holds nothing.
  twin.project.triggers[0].holds_motion_s = 4.0;
  twin.profile.voices = 1;
  twin.add_key(1, twin.add_tone(100));
  const auto output =
      drive_well(twin.compile(), card_of(4.0, {key(0.0, 1, true), throttle(1.0, 126)}));
  CHECK(events_of(output, EventKind::speed).back().speed_kmh > 20.0);
}

TEST_CASE(
    "triggers: brake squeal begins below its speed and is gone 100 ms after the wheels stop, "
    "in 20 stops from 5 speeds",
    "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 3);
  const Id<Sound> squeal = twin.add_held(twin.add_segment(clip_of(sine(2205, true, false))),
                                         twin.add_segment(sine_hold()), {}, 50);
  Trigger begins = start_on(TriggerEvent::speed_falls, squeal);
  begins.speed_kmh = 15.0;
  begins.when.states = {State::braking, State::stopping};
  twin.add_trigger(begins);
  Trigger ends = start_on(TriggerEvent::at_rest, squeal);
  ends.action = TriggerAction::stop;
  ends.fade_s = 0.05;
  twin.add_trigger(ends);
  twin.add_task(2, BrakeKey{});
  int stops = 0;
  for (const int step : {30, 50, 70, 90, 126}) {
    for (const int rate : {0, 4, 9, 20}) {
      twin.set_cv(4, rate);
      std::vector<Move> moves{throttle(0.0, step)};
      if (rate == 0) {
        moves.push_back(key(4.0, 2, true));
      } else {
        moves.push_back(throttle(4.0, 0));
      }
      const auto output = drive_well(twin.compile(), card_of(30.0, moves));
      const std::int64_t rest = rest_frame(output);
      INFO("step " << step << ", CV4 " << rate);
      REQUIRE(rest > 0);
      const auto begun = starts_of(output, "trigger");
      REQUIRE(begun.size() == 1);
      CHECK(begun[0] < rest);
      const auto sounding = sounding_frames(output.mix);
      CHECK(sounding.back() > rest - twin_rate_hz / 10);
      CHECK(sounding.back() <= rest + twin_rate_hz / 10);
      ++stops;
    }
  }
  CHECK(stops == 20);
}

TEST_CASE("triggers: a swap fades from one to the other, and what lasts a time is let go",
          "[drive]") {
  LivingTwin twin;
  const Id<Sound> before = twin.add_tone();
  const Id<Sound> after = twin.add_tone();
  Trigger begins = start_on(TriggerEvent::leaving_rest, before);
  twin.add_trigger(begins);
  Trigger swaps = start_on(TriggerEvent::speed_rises, after);
  swaps.speed_kmh = 30.0;
  swaps.action = TriggerAction::swap;
  swaps.instead_of = before;
  swaps.fade_s = 0.5;
  swaps.lasts = TimeSpan{2.0, 2.0, {}};
  twin.add_trigger(swaps);
  const auto output =
      drive_well(twin.compile(), card_of(8.0, {throttle(1.0, 20), throttle(3.0, 60)}));
  const auto ends = events_of(output, EventKind::voice_end);
  REQUIRE(ends.size() == 2);
  CHECK(ends[0].reason == "stopped");
  CHECK(static_cast<double>(ends[0].frame) / twin_rate_hz == Approx(3.5).margin(0.01));
  CHECK(ends[1].reason == "released");
  CHECK(static_cast<double>(ends[1].frame) / twin_rate_hz == Approx(5.0).margin(0.01));
  CHECK(output.voices_peak == 2);
}

TEST_CASE("triggers: a sound of a group ends the others of it, whoever plays them", "[drive]") {
  LivingTwin twin;
  const Id<Sound> one = twin.add_tone();
  const Id<Sound> two = twin.add_tone();
  const Id<Sound> apart = twin.add_tone();
  twin.project.sounds[0].group = "whistles";
  twin.project.sounds[1].group = "whistles";
  twin.add_key(1, one);
  twin.add_key(3, apart);
  Trigger trigger = start_on(TriggerEvent::leaving_rest, two);
  twin.add_trigger(trigger);
  const auto output = drive_well(
      twin.compile(), card_of(3.0, {key(0.5, 1, true), key(0.5, 3, true), throttle(1.5, 40)}));
  const auto ends = events_of(output, EventKind::voice_end);
  REQUIRE(ends.size() == 3);
  CHECK(ends[0].reason == "gave_way");
  CHECK(static_cast<double>(ends[0].frame) / twin_rate_hz == Approx(1.5).margin(0.002));
  CHECK(ends[1].reason == "end_of_card");
  CHECK(ends[2].reason == "end_of_card");
}

TEST_CASE("triggers: a state of the set's own begins after its time and ends past its edge",
          "[drive]") {
  LivingTwin twin;
  OwnState fast;
  fast.name = "fast";
  fast.from_kmh = 40.0;
  fast.hysteresis_kmh = 5.0;
  fast.after_s = 1.0;
  fast.hold_s = 0.0;
  twin.add_state(fast);
  OwnState waiting;
  waiting.name = "long standing";
  waiting.during = {State::standing};
  waiting.after_s = 2.0;
  waiting.hold_s = 3.0;
  twin.add_state(waiting);
  // 44 km/h at 4 s, 38 at 7 s (within the slack), 30 at 8 s; at rest at 10 s; off at 12.5 s.
  const auto output = drive_well(
      twin.compile(), card_of(20.0, {throttle(4.0, 70), throttle(7.0, 60), throttle(8.0, 48),
                                     throttle(10.0, 0), throttle(12.5, 48)}));
  std::vector<std::string> told;
  for (const drive::Event& event : events_of(output, EventKind::own_state)) {
    told.push_back(event.text + (event.value != 0 ? " on " : " off ") +
                   std::to_string((event.frame + twin_rate_hz / 20) / (twin_rate_hz / 10)));
  }
  CHECK(told == std::vector<std::string>{"long standing on 20", "long standing off 50",
                                         "fast on 50", "fast off 80", "long standing on 120",
                                         "long standing off 150"});
}
