// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/steam.h"

#include "steam_runs.h"
#include "support/catch.h"
#include "support/realtime_guard.h"

#include <algorithm>
#include <cmath>
#include <limits>

using namespace fourbeat;
using namespace fourbeat::tests;
using drive::Draw;
using drive::Steam;
using model::Duties;
using model::Effort;

namespace {

/// The pull at a pressure.
double pull_at(double bar) {
  Duties duties = still_duties();
  duties.start_bar = bar;
  return Steam(duties).pull();
}

/// A boiler so full that it primes once steam is used.
Duties brim_full() {
  Duties duties = still_duties();
  duties.start_water = 0.95;
  return duties;
}

}  // namespace

TEST_CASE("steam: pull is whole from weak_bar up, nothing at stalled_bar, straight between",
          "[drive]") {
  CHECK(pull_at(12.0) == 1.0);
  CHECK(pull_at(8.0) == 1.0);
  CHECK(pull_at(7.0) == Approx(0.75).epsilon(1e-12));
  CHECK(pull_at(6.0) == Approx(0.5).epsilon(1e-12));
  CHECK(pull_at(4.0) == 0.0);
  CHECK(pull_at(0.0) == 0.0);
}

TEST_CASE("steam: steam use is the share of top speed by effort, and none at rest", "[drive]") {
  CHECK(drive::steam_use({0.8, Effort::hard, false}) == 0.8);
  CHECK(drive::steam_use({0.8, Effort::easy, false}) == 0.4);
  CHECK(drive::steam_use({0.8, Effort::drifting, false}) == 0.0);
  CHECK(drive::steam_use({0.8, Effort::hard, true}) == 0.0);
  CHECK(drive::steam_use({7.0, Effort::hard, false}) == 1.0);
  CHECK(drive::steam_use({-1.0, Effort::hard, false}) == 0.0);
  CHECK(drive::steam_use({std::nan(""), Effort::hard, false}) == 0.0);
}

TEST_CASE("steam: a neglected fire warns, then weakens and stalls the engine; coal mends it",
          "[drive]") {
  Duties duties = duties_on();
  duties.working_water_per_min = 0.0;  // the water is not in question
  Steam steam(duties);
  Told told;
  const double hour_s = 3600.0;
  const double warned_s =
      run_until(steam, flat_out, hour_s, told, [](auto& s) { return s.warns_of_pressure(); });
  CHECK(steam.pull() == 1.0);
  const double weak_s =
      run_until(steam, flat_out, hour_s, told, [](auto& s) { return s.pull() < 1.0; });
  const double stalled_s =
      run_until(steam, flat_out, hour_s, told, [](auto& s) { return s.pull() == 0.0; });
  CHECK(warned_s > 120.0);
  CHECK(weak_s > 30.0);
  CHECK(stalled_s > 60.0);
  CHECK(stalled_s < hour_s);
  CHECK(told == Told{});

  for (int charge = 0; charge < 4; ++charge)
    steam.fire();
  const double back_s =
      run_until(steam, standing, hour_s, told, [&](auto&) { return told.recovered > 0; });
  CHECK(back_s < 600.0);
  CHECK(steam.pull() == 1.0);
  CHECK(steam.warns_of_pressure());
  run_until(steam, standing, hour_s, told, [](auto& s) { return !s.warns_of_pressure(); });
  CHECK_FALSE(steam.warns_of_pressure());
  CHECK(told.recovered == 1);
}

TEST_CASE("steam: neglected water warns, and after its grace the fire must be dropped", "[drive]") {
  Steam steam(duties_on());
  Told told;
  run_until(steam, flat_out, 3600.0, told, [](auto& s) { return s.warns_of_water(); });
  CHECK(steam.water() > 0.15);
  CHECK(steam.grace_left_s() == 30.0);
  run_until(steam, flat_out, 3600.0, told, [](auto& s) { return s.water() <= 0.15; });
  CHECK(told.fire_dropped == 0);
  const double grace_s =
      run_until(steam, standing, 100.0, told, [&](auto&) { return told.fire_dropped > 0; });
  CHECK(grace_s == Approx(30.0).margin(2 * step_s));
  CHECK(steam.unlit());
  CHECK(steam.fire_share() == 0.0);
  CHECK(steam.waiting_coal() == 0.0);

  // Neither time alone, nor coal without water, nor water without coal lights it.
  steam.fire();
  run(steam, standing, 70.0);
  CHECK(steam.unlit());
  CHECK(steam.waiting_coal() == 0.25);
  steam.feed(true);
  run_until(steam, standing, 600.0, told, [](auto& s) { return !s.unlit(); });
  CHECK(steam.water() > 0.15);
  CHECK(steam.water() < 0.16);
  run_until(steam, standing, 60.0, told, [](auto& s) { return s.water() > 0.6; });
  steam.feed(false);
  CHECK(steam.fire_share() > 0.2);
  CHECK_FALSE(steam.warns_of_water());
  CHECK(steam.grace_left_s() == 30.0);
  for (int charge = 0; charge < 3; ++charge)
    steam.fire();
  run_until(steam, standing, 1800.0, told, [&](auto&) { return told.recovered > 0; });
  CHECK(steam.pull() == 1.0);
  CHECK(told.fire_dropped == 1);
  CHECK(told.recovered == 1);
}

TEST_CASE("steam: a dropped fire stays unlit for relight_s, and until there is coal", "[drive]") {
  Duties duties = duties_on();
  duties.start_water = 0.1;
  duties.grace_s = 0.0;
  Steam steam(duties);
  CHECK(steam.advance(step_s, standing).fire_dropped);
  steam.feed(true);
  run(steam, standing, 30.0);
  steam.feed(false);
  CHECK(steam.water() > 0.2);
  steam.fire();
  Told told;
  const double left_s = run_until(steam, standing, 600.0, told, [](auto& s) { return !s.unlit(); });
  CHECK(left_s == Approx(30.0).margin(0.01));

  Steam cold(duties);
  cold.advance(step_s, standing);
  cold.feed(true);
  run(cold, standing, 300.0);
  CHECK(cold.unlit());
  cold.fire();
  cold.advance(step_s, standing);
  CHECK_FALSE(cold.unlit());
}

TEST_CASE("steam: water back above low_water within the grace keeps the fire", "[drive]") {
  Duties duties = duties_on();
  duties.start_water = 0.14;
  Steam steam(duties);
  run(steam, standing, 25.0);
  CHECK(steam.grace_left_s() == Approx(5.0).margin(2 * step_s));
  steam.feed(true);
  const Told told = run(steam, standing, 60.0);
  CHECK(told.fire_dropped == 0);
  CHECK(steam.grace_left_s() == 30.0);
}

TEST_CASE("steam: fresh coal and fresh water pull the pressure down for a while", "[drive]") {
  Duties duties = duties_on();
  duties.start_bar = 9.0;  // the valves stay shut
  Steam plain(duties);
  Steam fired(duties);
  Steam fed(duties);
  fired.fire();  // a fire of 0.8 leaves room for 0.2 of a charge of 0.25
  CHECK(fired.waiting_coal() == Approx(0.2).epsilon(1e-12));
  fed.feed(true);
  run(plain, standing, 16.0);
  run(fired, standing, 16.0);
  run(fed, standing, 16.0);
  CHECK(fired.pressure_bar() < plain.pressure_bar() - 0.15);
  CHECK(fed.pressure_bar() < plain.pressure_bar() - 0.3);
  CHECK(fired.waiting_coal() == Approx(0.0).margin(1e-4));
  fed.feed(false);
  run(plain, standing, 120.0);
  run(fired, standing, 120.0);
  run(fed, standing, 120.0);
  CHECK(fired.pressure_bar() > plain.pressure_bar());
  CHECK(fed.pressure_bar() > 9.0);
  CHECK_FALSE(fired.valve_lifted());
}

TEST_CASE("steam: a safety valve lifts at lift_bar, shuts at reseat_bar, and each is told in turn",
          "[drive]") {
  Steam steam(duties_on());
  Told told;
  bool lifted = false;
  double lowest = 99.0;
  double highest = 0.0;
  const auto steps = static_cast<long>(900.0 / step_s);
  for (long step = 0; step < steps; ++step) {
    const drive::SteamEvents events = steam.advance(step_s, standing);
    told.add(events);
    if (events.lifts) {
      CHECK_FALSE(lifted);
      CHECK(steam.pressure_bar() == Approx(12.0).margin(1e-4));
    }
    if (events.reseats) {
      CHECK(lifted);
      CHECK(steam.pressure_bar() == Approx(11.5).margin(2e-4));
    }
    lifted = steam.valve_lifted();
    if (told.lifts == 0) continue;
    lowest = std::min(lowest, steam.pressure_bar());
    highest = std::max(highest, steam.pressure_bar());
  }
  CHECK(told.lifts >= 3);
  CHECK(told.lifts - told.reseats == (lifted ? 1 : 0));
  CHECK(lowest > 11.499);
  CHECK(highest < 12.001);
}

TEST_CASE("steam: a valve too small for its fire still lets no more than 1 bar over it stand",
          "[drive]") {
  Duties duties = duties_on();
  duties.valve_bar_per_min = 0.0;
  duties.heat_bar_per_min = 60.0;
  Steam steam(duties);
  const Told told = run(steam, standing, 120.0);
  CHECK(told.lifts == 1);
  CHECK(told.reseats == 0);
  CHECK(steam.pressure_bar() == Approx(13.0).epsilon(1e-12));
}

TEST_CASE("steam: too much water primes once steam is used, halves the pull, and ends", "[drive]") {
  Steam steam(brim_full());
  CHECK(run(steam, standing, 60.0) == Told{});
  CHECK(steam.pull() == 1.0);
  Told told = run(steam, {1.0, Effort::drifting, false}, 10.0);
  CHECK(told.primes == 0);
  told.add(steam.advance(step_s, flat_out));
  CHECK(told.primes == 1);
  CHECK(steam.priming());
  CHECK(steam.pull() == 0.5);
  run_until(steam, flat_out, 120.0, told, [](auto& s) { return !s.priming(); });
  CHECK(steam.water() == Approx(0.90).margin(1e-4));
  CHECK(steam.pull() == 1.0);
  CHECK(told.primes == 1);

  Steam shut(brim_full());
  run(shut, flat_out, 1.0);
  CHECK(shut.priming());
  const double ended_s =
      run_until(shut, standing, 60.0, told, [](auto& s) { return !s.priming(); });
  CHECK(ended_s == Approx(2.0).margin(2 * step_s));
}

TEST_CASE("steam: water and regulator that hover about their edges prime once", "[drive]") {
  Duties duties = still_duties();
  duties.start_water = 0.93;
  duties.working_bar_per_min = 0.0;
  Steam steam(duties);
  Told told;
  for (int turn = 0; turn < 60; ++turn) {
    steam.feed(steam.water() < 0.92);
    told.primes += run(steam, flat_out, 1.0).primes;
    told.primes += run(steam, {1.0, Effort::drifting, false}, 1.0).primes;
  }
  CHECK(told.primes == 1);
  CHECK(steam.water() == Approx(0.92).margin(0.02));
}

TEST_CASE("steam: a warning ends a twentieth of the way above where it begins", "[drive]") {
  Duties duties = still_duties();
  const double way = duties.high_water - duties.low_water;
  const double begins = duties.low_water + 0.25 * way;
  const double ends = duties.low_water + 0.30 * way;
  duties.start_water = begins - 0.005;
  Steam steam(duties);
  Told told;
  run(steam, standing, 1.0);
  CHECK(steam.warns_of_water());
  steam.feed(true);
  const auto above = [](double level) {
    return [level](const Steam& one) { return one.water() > level; };
  };
  run_until(steam, standing, 600.0, told, above(ends - 0.005));
  CHECK(steam.warns_of_water());
  run_until(steam, standing, 600.0, told, above(ends + 0.005));
  CHECK_FALSE(steam.warns_of_water());
}

TEST_CASE("steam: off, everything holds and the engine pulls", "[drive]") {
  Duties duties = duties_on();
  duties.on = false;
  duties.start_bar = 2.0;
  duties.start_water = 0.05;
  Steam steam(duties);
  steam.fire();
  steam.feed(true);
  CHECK(run(steam, flat_out, 600.0) == Told{});
  CHECK(steam.pull() == 1.0);
  CHECK(steam.pressure_bar() == 2.0);
  CHECK(steam.water() == 0.05);
  CHECK(steam.fire_share() == 0.8);
  CHECK(steam.waiting_coal() == 0.0);
  CHECK_FALSE(steam.warns_of_pressure());
  CHECK_FALSE(steam.warns_of_water());
  steam.set_on(true);
  CHECK(steam.pull() == 0.0);
  CHECK(steam.warns_of_pressure());
  run(steam, standing, 1.0);
  CHECK(steam.water() > 0.05);  // the feed's key was on all along
}

TEST_CASE("steam: duties put off under way shut what is open, and go on when put on", "[drive]") {
  Duties duties = duties_on();
  duties.start_bar = 12.0;
  Steam steam(duties);
  CHECK(steam.advance(step_s, standing).lifts);
  const double bar = steam.pressure_bar();
  steam.set_on(false);
  CHECK(steam.advance(step_s, standing).reseats);
  CHECK_FALSE(steam.valve_lifted());
  CHECK(run(steam, standing, 60.0) == Told{});
  CHECK(steam.pressure_bar() == bar);
  steam.set_on(true);
  CHECK(steam.advance(step_s, standing).lifts);
}

TEST_CASE("steam: a pace is so many times as fast", "[drive]") {
  Duties duties = still_duties();
  duties.standing_bar_per_min = 1.0;
  for (const double pace : {0.5, 1.0, 4.0}) {
    Steam steam(duties);
    steam.set_pace(pace);
    run(steam, standing, 60.0);
    CHECK(steam.pressure_bar() == Approx(11.0 - pace).margin(1e-3));
  }
  const auto lost = [&](double pace) {
    Steam steam(duties);
    steam.set_pace(pace);
    run(steam, standing, 6.0);
    return 11.0 - steam.pressure_bar();
  };
  CHECK(lost(1000.0) == Approx(2.0).margin(1e-2));
  CHECK(lost(-3.0) == Approx(0.01).margin(1e-3));
  CHECK(lost(std::numeric_limits<double>::quiet_NaN()) == Approx(0.01).margin(1e-3));
}

TEST_CASE("steam: a casual driver has a quarter of an hour without a single chore", "[drive]") {
  // docs/steam.md, "How long neglect takes": three minutes at half speed, two at rest.
  Steam steam(duties_on());
  for (int lap = 0; lap < 3; ++lap) {
    run(steam, {0.5, Effort::easy, false}, 180.0);
    CHECK(steam.pull() == 1.0);
    CHECK_FALSE(steam.warns_of_pressure());
    CHECK_FALSE(steam.warns_of_water());
    run(steam, standing, 120.0);
  }
}

TEST_CASE("steam: real time: nothing is allocated or locked", "[drive]") {
  Duties duties = duties_on();
  duties.extra["later"] = "\"kept for another version of this program, but not here\"";
  Steam steam(duties);
  long calls = 0;
  {
    const RealtimeGuard guard;
    for (int step = 0; step < 5000; ++step) {
      if (step % 500 == 0) steam.fire();
      steam.feed(step % 3 == 0);
      steam.set_pace(step % 20);
      steam.advance(step_s, step % 2 == 0 ? flat_out : standing);
    }
    const Steam copy = steam;
    calls = RealtimeGuard::calls() + (copy.on() ? 0 : 1);
  }
  CHECK(calls == 0);
}
