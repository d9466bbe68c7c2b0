// SPDX-License-Identifier: GPL-3.0-or-later
#include "living_twin.h"
#include "support/catch.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"

#include <cstdint>
#include <set>

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::model;
using drive::EventKind;

namespace {

constexpr double silent_db = -200.0;

double seconds(std::int64_t frame) {
  return static_cast<double>(frame) / twin_rate_hz;
}

/// Speed as the log last told it before a time.
double speed_at(const drive::DriveOutput& output, double time_s) {
  double speed = -1.0;
  for (const drive::Event& event : events_of(output, EventKind::speed)) {
    if (seconds(event.frame) <= time_s + 1e-9) speed = event.speed_kmh;
  }
  return speed;
}

double rest_s(const drive::DriveOutput& output, double after_s) {
  for (const drive::Event& event : events_of(output, EventKind::state)) {
    if (event.text == "standing" && seconds(event.frame) > after_s) return seconds(event.frame);
  }
  return -1.0;
}

double level_db(const drive::DriveOutput& output, double from_s, double to_s) {
  double sum = 0.0;
  const auto from = static_cast<std::size_t>(from_s * twin_rate_hz);
  const auto to = static_cast<std::size_t>(to_s * twin_rate_hz);
  for (std::size_t i = from; i < to; ++i)
    sum += output.mix[i] * output.mix[i];
  const double mean = sum / static_cast<double>(to - from);
  return db_of_power(mean / (0.5 * twin_amplitude * twin_amplitude)).value_or(silent_db);
}

/// An option of CV130: 0, or another value.
Id<Option> add_choice(LivingTwin& twin, int other) {
  Option option;
  option.cv = 130;
  option.choices = {{0, "a", {}}, {other, "b", {}}};
  return twin.add_option(option);
}

}  // namespace

TEST_CASE("keys: the engine coasts until it is braked, and a brake takes its own time", "[drive]") {
  LivingTwin twin;
  twin.set_cv(4, 20);  // 17.92 s
  twin.project.driving.coasts_until_braked = true;
  twin.project.driving.coasting_factor = 10.0;
  twin.project.driving.full_brake_s = 8.0;
  twin.add_task(1, BrakeKey{0.5, 0.0, {}});
  twin.add_task(2, BrakeKey{1.0, 0.0, {}});
  const auto run = [&](std::vector<Move> more) {
    std::vector<Move> moves{throttle(0.0, 126), throttle(2.0, 0)};
    moves.insert(moves.end(), more.begin(), more.end());
    return drive_well(twin.compile(), card_of(60.0, moves));
  };
  const auto coasting = run({});
  CHECK(speed_at(coasting, 22.0) == Approx(80.0 * (1.0 - 20.0 / 179.2)).epsilon(1e-3));
  CHECK(rest_s(run({key(2.0, 2, true)}), 1.0) == Approx(10.0).margin(0.01));
  CHECK(rest_s(run({key(2.0, 1, true)}), 1.0) == Approx(18.0).margin(0.01));
  CHECK(rest_s(run({key(2.0, 1, true), key(2.0, 2, true)}), 1.0) == Approx(10.0).margin(0.01));
  // Let go, it coasts on.
  const auto half = run({key(2.0, 2, true), key(6.0, 2, false)});
  CHECK(speed_at(half, 6.0) == Approx(40.0).margin(0.05));
  CHECK(speed_at(half, 10.0) == Approx(40.0 - 80.0 * 4.0 / 179.2).margin(0.1));
  // Braked with the regulator open it comes to rest, and sets off again when the brake is off.
  const auto open = drive_well(
      twin.compile(), card_of(20.0, {throttle(0.0, 126), key(2.0, 2, true), key(12.0, 2, false)}));
  CHECK(rest_s(open, 1.0) == Approx(10.0).margin(0.01));
  CHECK(speed_at(open, 13.0) == Approx(80.0));
}

TEST_CASE("keys: a brake that grows stops as the integral of its growth says", "[drive]") {
  LivingTwin twin;
  twin.set_cv(4, 200);
  twin.project.driving.full_brake_s = 6.0;
  twin.add_task(1, BrakeKey{1.0, 4.0, {}});
  const auto output =
      drive_well(twin.compile(), card_of(20.0, {throttle(0.0, 126), key(2.0, 1, true)}));
  // v/top = 1 - t²/(2 × 4 × 6) up to 4 s (2/3 left), then 1/6 a second: rest after 4 + 4 s.
  CHECK(speed_at(output, 4.0) == Approx(80.0 * (1.0 - 4.0 / 48.0)).epsilon(2e-3));
  CHECK(speed_at(output, 6.0) == Approx(80.0 * (1.0 - 16.0 / 48.0)).epsilon(2e-3));
  CHECK(rest_s(output, 1.0) == Approx(10.0).margin(0.02));
}

TEST_CASE("keys: emergency stop works whatever the brake, a held motion and the coasting do",
          "[drive]") {
  LivingTwin twin;
  twin.set_cv(4, 255);
  twin.project.driving.coasts_until_braked = true;
  twin.project.driving.coasting_factor = 100.0;
  twin.add_task(1, BrakeKey{0.01, 10.0, {}});
  twin.add_task(2, DirectControlKey{0.5, {}});
  std::vector<Move> moves{throttle(0.0, 126), key(1.0, 1, true),  key(1.0, 2, true),
                          {3.0, MoveStop{}},  throttle(6.0, 126), key(6.0, 1, false)};
  const auto output = drive_well(twin.compile(), card_of(8.0, moves));
  CHECK(speed_at(output, 3.0) > 50.0);
  CHECK(rest_s(output, 1.0) == Approx(3.0).margin(0.004));  // told on the grid
  CHECK(speed_at(output, 5.9) == 0.0);
  CHECK(speed_at(output, 7.0) == Approx(80.0));  // the throttle moved: it drives again
}

TEST_CASE("keys: direct control takes momentum away while it is on", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 50);
  twin.set_cv(4, 50);
  twin.add_task(1, DirectControlKey{0.0, {}});
  const auto output = drive_well(
      twin.compile(), card_of(10.0, {throttle(0.0, 126), key(4.0, 1, true), throttle(5.0, 63),
                                     key(6.0, 1, false), throttle(6.0, 126)}));
  CHECK(speed_at(output, 3.9) == Approx(80.0 * 3.9 / 44.8).epsilon(1e-3));
  CHECK(speed_at(output, 4.1) == Approx(80.0));
  CHECK(speed_at(output, 5.1) == Approx(40.0));
  CHECK(speed_at(output, 7.0) == Approx(40.0 + 80.0 / 44.8).epsilon(2e-3));
}

TEST_CASE("keys: silence, soften and the set's own CV act on everything, without a bend",
          "[drive]") {
  LivingTwin twin;
  twin.add_key(1, twin.add_tone());
  twin.add_task(2, SilenceKey{0.5, {}});
  twin.add_task(3, SoftenKey{12.0, {}});
  CvEffect effect;
  effect.target = CvTarget::set_gain;
  effect.at_0 = -51.0;
  twin.add_effect(160, 255, effect);
  const auto output = drive_well(twin.compile(), card_of(12.0, {key(0.0, 1, true),
                                                                key(2.0, 2, true),
                                                                key(4.0, 2, false),
                                                                key(6.0, 3, true),
                                                                key(8.0, 3, false),
                                                                {10.0, MoveCv{160, 205}}}));
  CHECK(level_db(output, 1.0, 2.0) == Approx(0.0).margin(0.01));
  CHECK(level_db(output, 3.0, 4.0) == silent_db);
  CHECK(level_db(output, 5.0, 6.0) == Approx(0.0).margin(0.01));
  CHECK(level_db(output, 7.0, 8.0) == Approx(-12.0).margin(0.01));
  CHECK(level_db(output, 9.0, 10.0) == Approx(0.0).margin(0.01));
  CHECK(level_db(output, 11.0, 12.0) == Approx(-10.0).margin(0.01));
  CHECK(largest_bend(output.mix) <= 4.0 * steady_bend());
}

TEST_CASE("keys: a variant is chosen by the speed at which the key is put on, and stays",
          "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 20);
  const auto smooth = [&] {
    return twin.add_held(twin.add_segment(clip_of(sine(2205, true, false))),
                         twin.add_segment(sine_hold()),
                         twin.add_segment(clip_of(sine(2205, false, true))));
  };
  const Id<Sound> low = smooth();
  const Id<Sound> middle = smooth();
  const Id<Sound> high = smooth();
  Key whistle;
  whistle.number = 2;
  whistle.sound = low;
  whistle.by_speed = {{20.0, middle, {}}, {60.0, high, {}}};
  twin.add(twin.project.keys, whistle);
  // 17.92 s from rest to 80 km/h: 20 km/h at 4.5 s, 60 at 13.4.
  const auto output = drive_well(
      twin.compile(), card_of(20.0, {throttle(0.0, 126), key(1.0, 2, true), key(8.0, 2, false),
                                     key(9.0, 2, true), key(10.0, 2, false), key(15.0, 2, true)}));
  std::vector<std::string> sounds;  // that the key began
  for (const drive::Event& event : events_of(output, EventKind::voice_start)) {
    if (event.reason == "key") sounds.push_back(event.text);
  }
  CHECK(sounds.size() == 3);  // nothing changed while it was held from 1 to 8 s
  CHECK(std::set<std::string>(sounds.begin(), sounds.end()).size() == 3);
  CHECK(largest_bend(output.mix) <= 4.0 * steady_bend());
}

TEST_CASE("keys: states and options bind a use, and an option changes while driving", "[drive]") {
  LivingTwin twin;
  const Id<Option> id = add_choice(twin, 1);
  twin.set_cv(130, 0);
  const Id<Sound> a = twin.add_impulse(0.25F);
  const Id<Sound> b = twin.add_impulse(0.5F);
  const Id<Sound> moving = twin.add_impulse(1.0F);
  for (const int value : {0, 1}) {
    Key use;
    use.number = 1;
    use.sound = value == 0 ? a : b;
    use.when.option = id;
    use.when.option_value = value;
    twin.add(twin.project.keys, use);
  }
  Key under_way;
  under_way.number = 1;
  under_way.sound = moving;
  under_way.when.states = {State::working};
  twin.add(twin.project.keys, under_way);
  twin.add_task(5, OptionKey{id, 1, {}});
  const auto heard = [&](std::vector<Move> moves) {
    const auto mix = drive_well(twin.compile(), card_of(8.0, std::move(moves))).mix;
    std::vector<float> heights;
    for (const std::int64_t frame : sounding_frames(mix))
      heights.push_back(mix[static_cast<std::size_t>(frame)]);
    return heights;
  };
  CHECK(heard({key(1.0, 1, true)}) == std::vector<float>{0.25F});
  CHECK(heard({{0.0, MoveCv{130, 1}}, key(1.0, 1, true)}) == std::vector<float>{0.5F});
  CHECK(heard({{0.0, MoveCv{130, 2}}, key(1.0, 1, true)}).empty());
  CHECK(heard({key(0.5, 5, true), key(1.0, 1, true), key(1.5, 1, false), key(2.0, 5, false),
               key(3.0, 1, true)}) == std::vector<float>{0.5F, 0.25F});
  CHECK(heard({throttle(0.0, 126), key(3.0, 1, true)}) == std::vector<float>{1.25F});
}

TEST_CASE("keys: an option that a key switches is told as the CV that it changes", "[drive]") {
  LivingTwin twin;
  const Id<Option> id = add_choice(twin, 3);
  twin.set_cv(130, 2);
  twin.add_task(5, OptionKey{id, 3, {}});
  const auto output =
      drive_well(twin.compile(), card_of(4.0, {key(1.0, 5, true), key(2.0, 5, false)}));
  const std::vector<drive::Event> told = events_of(output, EventKind::cv);
  REQUIRE(told.size() == 2);
  CHECK(told[0].number == 130);
  CHECK(told[0].value == 3);
  CHECK(told[0].frame == twin_rate_hz);
  CHECK(told[1].number == 130);
  CHECK(told[1].value == 2);  // as it was
  CHECK(told[1].frame == std::int64_t{2} * twin_rate_hz);
}

TEST_CASE("keys: what comes of a sound started while it plays", "[drive]") {
  const auto run = [](Retrigger retrigger) {
    LivingTwin twin;
    const Id<Sound> sound = twin.add_shot(clip_of(sine(88200, true, true)));
    twin.project.sounds[0].retrigger = retrigger;
    twin.add_key(1, sound);
    return drive_well(twin.compile(),
                      card_of(4.0, {key(0.0, 1, true), key(0.4, 1, false), key(0.5, 1, true)}));
  };
  CHECK(events_of(run(Retrigger::afresh), EventKind::voice_start).size() == 2);
  CHECK(run(Retrigger::afresh).voices_peak == 1);
  CHECK(events_of(run(Retrigger::ignore), EventKind::voice_start).size() == 1);
  CHECK(events_of(run(Retrigger::overlap), EventKind::voice_start).size() == 2);
  CHECK(run(Retrigger::overlap).voices_peak == 2);
}

TEST_CASE("keys: an effort on demand is heard, and keeps its hold time", "[drive]") {
  LivingTwin twin;
  twin.add_task(1, EffortKey{Effort::hard, {}});
  const auto output = drive_well(
      twin.compile(), card_of(10.0, {throttle(0.0, 40), key(4.0, 1, true), key(4.1, 1, false)}));
  std::vector<std::string> told;
  for (const drive::Event& event : events_of(output, EventKind::effort)) {
    if (seconds(event.frame) < 3.0) continue;
    told.push_back(std::to_string(static_cast<int>(event.effort)) + " at " +
                   std::to_string(std::lround(seconds(event.frame) * 10)));
  }
  CHECK(told == std::vector<std::string>{"2 at 40", "1 at 45"});
}

TEST_CASE("keys: asleep until woken, shut down with its own sounds", "[drive]") {
  LivingTwin twin;
  twin.project.driving.sleeps_after_s = 1.0;
  twin.add_row(0, 100, Effort::easy, 1, {1.0F});
  Layer bed;
  bed.sounds = {twin.add_tone()};
  bed.fade_s = 0.05;
  twin.add_layer(bed);
  const Id<Sound> shot = twin.add_shot(clip_of(sine(2205, true, true)));
  twin.add_trigger(start_on(TriggerEvent::sound_on, shot));
  twin.add_trigger(start_on(TriggerEvent::sound_off, shot));
  twin.add_key(2, shot);
  twin.add_task(1, WakeKey{true, {}});
  const auto output = drive_well(
      twin.compile(),
      card_of(16.0, {key(1.0, 2, true), throttle(1.0, 30), key(1.5, 2, false), throttle(2.0, 0),
                     key(4.0, 1, true), key(8.0, 1, false), throttle(12.0, 30)}));
  CHECK(level_db(output, 0.0, 3.9) == silent_db);
  CHECK(level_db(output, 5.0, 8.0) > -1.0);
  CHECK(level_db(output, 9.1, 16.0) == silent_db);
  const auto triggered = starts_of(output, "trigger");
  REQUIRE(triggered.size() == 2);
  CHECK(seconds(triggered[0]) == Approx(4.0).margin(0.002));
  CHECK(seconds(triggered[1]) == Approx(8.0).margin(0.002));
  CHECK(events_of(output, EventKind::state).front().text == "asleep");
}

TEST_CASE("power: sound lasts its reserve, fades, is gone, and comes back with the power",
          "[drive]") {
  LivingTwin twin;
  twin.project.driving.power_reserve_s = 1.0;
  twin.project.driving.power_fade_s = 0.5;
  Layer bed;
  bed.sounds = {twin.add_tone()};
  bed.fade_s = 0.05;
  twin.add_layer(bed);
  const auto output = drive_well(
      twin.compile(),
      card_of(10.0, {throttle(0.0, 60), {3.0, MovePower{false}}, {7.0, MovePower{true}}}));
  CHECK(level_db(output, 3.0, 4.0) == Approx(0.0).margin(0.01));
  CHECK(level_db(output, 4.1, 4.4) < -1.0);
  CHECK(level_db(output, 4.7, 7.0) == silent_db);
  CHECK(level_db(output, 7.5, 10.0) == Approx(0.0).margin(0.01));
  CHECK(largest_bend(output.mix) <= 4.0 * steady_bend());
  CHECK(speed_at(output, 3.2) == 0.0);
  CHECK(speed_at(output, 7.5) == Approx(80.0 * 60 / 126));
  const auto ends = events_of(output, EventKind::voice_end);
  REQUIRE(ends.size() == 2);
  CHECK(ends[0].reason == "cut");
}

TEST_CASE("states: told in order, none but rest before its hold time is over", "[drive]") {
  LivingTwin twin;
  twin.set_cv(3, 10);
  twin.set_cv(4, 10);
  twin.add_task(1, BrakeKey{0.5, 0.0, {}});
  const auto output = drive_well(
      twin.compile(), card_of(40.0, {throttle(1.0, 100), key(12.0, 1, true), key(13.0, 1, false),
                                     throttle(20.0, 60), throttle(25.0, 0)}));
  std::string states;
  for (const drive::Event& event : events_of(output, EventKind::state))
    states += event.text + " ";
  CHECK(states == "standing starting working braking working coasting working stopping standing ");

  twin.project.driving.state_hold_s = 0.4;
  Random random(3);
  RunCard busy = card_of(200.0, {});
  for (double at = 0.0; at < 200.0; at += random.uniform(0.05, 0.5)) {
    if (random.uniform() < 0.5) {
      busy.moves.push_back(throttle(at, static_cast<int>(random.below(127))));
    } else {
      busy.moves.push_back(key(at, 1, random.uniform() < 0.5));
    }
  }
  const auto changes = events_of(drive_well(twin.compile(), busy), EventKind::state);
  REQUIRE(changes.size() > 60);
  for (std::size_t i = 1; i < changes.size(); ++i) {
    if (changes[i].text == "standing" || changes[i - 1].text == "standing") continue;
    REQUIRE(seconds(changes[i].frame - changes[i - 1].frame) >= 0.4 - 0.002);
  }
}

TEST_CASE("duties: a neglected fire takes the pull, coal and water bring it back", "[drive]") {
  LivingTwin twin;
  twin.project.duties = Duties{};
  twin.project.duties->on = true;
  twin.project.duties->start_fire = 0.0;
  twin.project.duties->start_bar = 9.0;
  twin.project.duties->working_bar_per_min = 10.0;
  twin.add_task(1, ChoreKey{Chore::fire, {}});
  RunCard card =
      card_of(300.0, {throttle(0.0, 126), {0.0, MoveLoad{1.0}}, {0.0, MoveGradient{3.0}}});
  const auto neglected = drive_well(twin.compile(), card, {.render = false});
  CHECK(speed_at(neglected, 5.0) == Approx(80.0));
  CHECK(speed_at(neglected, 299.0) < 30.0);
  for (int i = 0; i < 4; ++i) {
    card.moves.push_back(key(120.0 + 10 * i, 1, true));
    card.moves.push_back(key(121.0 + 10 * i, 1, false));
  }
  const auto kept = drive_well(twin.compile(), card, {.render = false});
  CHECK(speed_at(kept, 299.0) > speed_at(neglected, 299.0) + 10.0);
  CHECK(events_of(kept, EventKind::gauges).size() == 300);
  twin.project.duties->on = false;
  CHECK(speed_at(drive_well(twin.compile(), card, {.render = false}), 299.0) == Approx(80.0));
}

TEST_CASE("motion: the model's calibration turns a level into a speed", "[drive]") {
  LivingTwin twin;
  twin.project.driving.speed_curve = {{51.0, 0.0, {}}, {102.0, 30.0, {}}, {255.0, 60.0, {}}};
  const auto speed = [&](int step) {
    return speed_at(drive_well(twin.compile(), card_of(1.0, {throttle(0.0, step)})), 0.9);
  };
  CHECK(speed(126) == Approx(60.0));
  CHECK(speed(20) == 0.0);  // level 40.5
  CHECK(speed(63) == Approx(30.0 + 30.0 * (127.5 - 102.0) / 153.0));
}
