// SPDX-License-Identifier: GPL-3.0-or-later
#include "steam_runs.h"
#include "support/catch.h"

#include "fourbeat/base/random.h"
#include "fourbeat/drive/steam.h"
#include "fourbeat/model/driving_members.h"
#include "fourbeat/model/validate.h"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <type_traits>

using namespace fourbeat;
using namespace fourbeat::tests;
using drive::Draw;
using drive::Steam;
using drive::SteamBalance;
using model::Duties;
using model::Effort;

namespace {

/// By how much the balances of a boiler are out, the largest of pressure, fire, coal and water.
double out_of_balance(const Duties& duties, const Steam& steam) {
  const SteamBalance& sum = steam.balance();
  const double bar = std::min(duties.start_bar, duties.lift_bar) + sum.heat_bar - sum.standing_bar -
                     sum.working_bar - sum.kindling_bar - sum.feeding_bar - sum.valve_bar;
  const double fire = duties.start_fire + sum.kindled - sum.burnt - sum.dropped_fire;
  const double coal = sum.shovelled - sum.kindled - sum.dropped_coal;
  const double water = duties.start_water + sum.fed_water - sum.used_water - sum.carried_water;
  return std::max({std::abs(bar - steam.pressure_bar()), std::abs(fire - steam.fire_share()),
                   std::abs(coal - steam.waiting_coal()), std::abs(water - steam.water())});
}

bool within(double value, double high) {
  return value >= 0.0 && value <= high;  // false for what is no number
}

bool in_range(const Duties& duties, const Steam& steam) {
  return within(steam.pressure_bar(), duties.lift_bar + 1.0 + 1e-9) &&
         within(steam.fire_share(), 1.0) && within(steam.waiting_coal(), 1.0) &&
         within(steam.fire_share() + steam.waiting_coal(), 1.0 + 1e-9) &&
         within(steam.water(), 1.0) && within(steam.pull(), 1.0) &&
         within(steam.grace_left_s(), duties.grace_s);
}

/// A step of a driver who does anything at any time.
void stir(Steam& steam, Random& random, double dt_s) {
  if (random.below(40) == 0) steam.fire();
  if (random.below(100) == 0) steam.feed(random.below(2) == 0);
  if (random.below(500) == 0) steam.set_on(random.below(4) != 0);
  if (random.below(300) == 0) steam.set_pace(random.uniform(0.0, 25.0));
  steam.advance(dt_s, {random.uniform(-0.1, 1.2), static_cast<Effort>(random.below(3)),
                       random.below(5) == 0});
}

/// Calls set(member, index) for every figure of duties.
template <class Set>
void for_each_figure(Duties& duties, const Set& set) {
  std::size_t index = 0;
  std::apply(
      [&](const auto&... member) {
        const auto one = [&](const auto& figure) {
          if constexpr (std::is_same_v<std::decay_t<decltype(duties.*figure.at)>, double>) {
            duties.*figure.at = set(figure.rule, duties.*figure.at, index++);
          }
        };
        (one(member), ...);
      },
      model::Members<Duties>::list);
}

/// Brings figures that must ascend into order, by as little as they may.
void mend(double& low, double& high, double most) {
  if (low < high) return;
  high = std::min(most, low + 1e-3);
  low = std::min(low, high - 1e-3);
}
Duties mended(Duties duties) {
  mend(duties.reseat_bar, duties.lift_bar, 30.0);
  mend(duties.stalled_bar, duties.weak_bar, 30.0);
  mend(duties.low_water, duties.high_water, 1.0);
  model::Project project;
  project.duties = duties;
  REQUIRE(model::validate(project));
  return duties;
}

void try_corner(const Duties& corner, std::uint64_t seed) {
  const Duties duties = mended(corner);
  Steam steam(duties);
  Random random(seed);
  bool held = in_range(duties, steam);
  for (int step = 0; step < 2000; ++step) {
    stir(steam, random, step % 2 == 0 ? 0.1 : step_s);
    held = held && in_range(duties, steam);
  }
  CHECK(held);
  // The sums reach some thousand bar: rounding stays below a billionth of that.
  CHECK(out_of_balance(duties, steam) < 1e-6);
}

}  // namespace

TEST_CASE("steam balance: start and gains less losses is what there is", "[drive]") {
  const Duties duties = duties_on();
  Steam steam(duties);
  Random random(11);
  Told told;
  double worst = 0.0;
  const auto steps = static_cast<long>(1800.0 / step_s);
  for (long step = 0; step < steps; ++step) {
    // A hard half hour: full glass, empty glass, dropped fire, relit, at a pace of 1.
    const double minute = static_cast<double>(step) * step_s / 60.0;
    if (step % 20000 == 0) steam.fire();
    steam.feed((minute > 2.0 && minute < 6.0) || (minute > 24.0 && minute < 26.0));
    told.add(steam.advance(
        step_s, {0.9, minute > 5.0 ? Effort::hard : Effort::easy, random.below(50) == 0}));
    if (step % 1000 == 0) worst = std::max(worst, out_of_balance(duties, steam));
  }
  worst = std::max(worst, out_of_balance(duties, steam));
  CHECK(worst < 1e-9);
  CHECK(told.primes > 0);
  CHECK(told.fire_dropped > 0);
  const SteamBalance& sum = steam.balance();
  for (const double part : {sum.heat_bar, sum.standing_bar, sum.working_bar, sum.kindling_bar,
                            sum.feeding_bar, sum.fed_water, sum.used_water, sum.carried_water,
                            sum.shovelled, sum.kindled, sum.burnt, sum.dropped_fire})
    CHECK(part > 0.01);
}

TEST_CASE("steam balance: each contribution is its rate times its time", "[drive]") {
  Duties duties = duties_on();
  duties.start_bar = 20.0;  // far from every bound, the valve aside
  duties.lift_bar = 29.0;
  duties.reseat_bar = 28.0;
  duties.weak_bar = 19.0;
  Steam steam(duties);
  run(steam, {0.5, Effort::hard, false}, 60.0);
  CHECK(steam.balance().standing_bar == Approx(0.3).epsilon(1e-4));
  CHECK(steam.balance().working_bar == Approx(2.0 * 0.5).epsilon(1e-4));
  CHECK(steam.balance().used_water == Approx(0.08 * 0.5).epsilon(1e-4));
  CHECK(steam.balance().feeding_bar == 0.0);
  steam.feed(true);
  run(steam, standing, 30.0);
  CHECK(steam.balance().fed_water == Approx(0.35 / 2).epsilon(1e-4));
  CHECK(steam.balance().feeding_bar == Approx(1.5 / 2).epsilon(1e-4));
  CHECK(steam.balance().working_bar == Approx(2.0 * 0.5).epsilon(1e-4));
  steam.feed(false);
  steam.fire();
  const double put = steam.waiting_coal();
  run(steam, standing, 10.0);
  CHECK(steam.balance().kindled == Approx(0.25 * 10.0 / 20.0).epsilon(1e-3));
  run(steam, standing, 30.0);
  CHECK(steam.balance().kindled == Approx(put).epsilon(1e-12));
  CHECK(steam.balance().kindling_bar == Approx(0.3 * put / 0.25).epsilon(1e-12));

  Duties lifted = still_duties();
  lifted.start_bar = 12.0;
  lifted.reseat_bar = 2.0;
  Steam open(lifted);
  run(open, standing, 30.0);
  CHECK(open.balance().valve_bar == Approx(6.0 / 2).epsilon(1e-3));
}

TEST_CASE("steam balance: a fire left alone burns down exponentially, its heat with the coal",
          "[drive]") {
  // dF/dt = -b F and heat = H / b times the coal burnt, b constant when nothing more is blown.
  Duties duties = duties_on();
  duties.working_burn_per_min = 0.0;
  duties.burn_per_min = 0.1;
  duties.heat_bar_per_min = 0.5;
  duties.lift_bar = 30.0;
  Steam steam(duties);
  const double minutes = 5.0;
  run(steam, standing, 60.0 * minutes);
  const double left = 0.8 * std::exp(-0.1 * minutes);
  CHECK(steam.fire_share() == Approx(left).epsilon(1e-4));
  CHECK(steam.balance().heat_bar == Approx(0.5 / 0.1 * (0.8 - left)).epsilon(1e-4));
}

TEST_CASE("steam balance: exhaust and blower fan the fire, whichever is the stronger", "[drive]") {
  // Burnt within a second of a fire of 0.8, a minute's rates 0.04 and 0.12.
  const auto burnt = [](double bar, const Draw& draw) {
    Duties duties = duties_on();
    duties.start_bar = bar;
    duties.standing_bar_per_min = 0.0;
    duties.working_bar_per_min = 0.0;
    duties.heat_bar_per_min = 0.0;
    duties.valve_bar_per_min = 0.0;
    Steam steam(duties);
    run(steam, draw, 1.0);
    return steam.balance().burnt / 0.8 * 60.0;
  };
  CHECK(burnt(12.0, standing) == Approx(0.04).epsilon(2e-3));
  CHECK(burnt(8.0, standing) == Approx(0.16).epsilon(2e-3));
  CHECK(burnt(3.0, standing) == Approx(0.16).epsilon(2e-3));
  CHECK(burnt(10.0, standing) == Approx(0.10).epsilon(2e-3));
  CHECK(burnt(12.0, flat_out) == Approx(0.16).epsilon(2e-3));
  CHECK(burnt(12.0, {1.0, Effort::easy, false}) == Approx(0.10).epsilon(2e-3));
  CHECK(burnt(10.0, {0.5, Effort::easy, false}) == Approx(0.10).epsilon(2e-3));
}

TEST_CASE("steam balance: a fire that never burns down still heats evenly", "[drive]") {
  Duties duties = duties_on();
  duties.burn_per_min = 0.0;
  duties.working_burn_per_min = 0.0;
  duties.standing_bar_per_min = 0.0;
  duties.lift_bar = 30.0;
  Steam steam(duties);
  run(steam, standing, 60.0);
  CHECK(steam.fire_share() == 0.8);
  CHECK(steam.pressure_bar() == Approx(11.0 + 3.0 * 0.8).epsilon(1e-4));
}

TEST_CASE("steam balance: the same twice, and hardly another at half the step", "[drive]") {
  const auto driven = [](int steps_a_step) {
    Steam steam(duties_on());
    steam.set_pace(4.0);
    for (int step = 0; step < 200'000; ++step) {
      if (step % 20'000 == 7) steam.fire();
      steam.feed(step % 50'000 < 10'000);
      const Draw draw{0.6, step % 70'000 < 40'000 ? Effort::easy : Effort::hard,
                      step % 90'000 > 60'000};
      for (int part = 0; part < steps_a_step; ++part)
        steam.advance(step_s / steps_a_step, draw);
    }
    return steam;
  };
  const Steam once = driven(1);
  const Steam again = driven(1);
  const Steam finer = driven(2);
  CHECK(once.pressure_bar() == again.pressure_bar());
  CHECK(once.fire_share() == again.fire_share());
  CHECK(once.water() == again.water());
  CHECK(std::abs(finer.pressure_bar() - once.pressure_bar()) < 1e-3);
  CHECK(std::abs(finer.fire_share() - once.fire_share()) < 1e-4);
  CHECK(std::abs(finer.water() - once.water()) < 1e-4);
  CHECK(finer.pressure_bar() != once.pressure_bar());  // it is Euler's method, and no more
}

TEST_CASE("steam balance: every corner of the ranges keeps figures finite and in range",
          "[drive]") {
  std::size_t figures = 0;
  Duties base = duties_on();
  for_each_figure(base, [&](const model::MemberRule&, double value, std::size_t) {
    ++figures;
    return value;
  });
  REQUIRE(figures == 23);
  for (std::size_t one = 0; one < figures; ++one) {
    for (const bool high : {false, true}) {
      Duties corner = duties_on();
      for_each_figure(corner, [&](const model::MemberRule& rule, double value, std::size_t index) {
        return index != one ? value : (high ? rule.high : rule.low);
      });
      CAPTURE(one, high);
      try_corner(corner, 3);
    }
  }
  Random random(29);
  for (int draw = 0; draw < 150; ++draw) {
    const std::uint64_t bits = draw == 0 ? 0 : (draw == 1 ? ~std::uint64_t{0} : random.next());
    Duties corner = duties_on();
    for_each_figure(corner, [&](const model::MemberRule& rule, double, std::size_t index) {
      return ((bits >> index) & 1U) != 0 ? rule.high : rule.low;
    });
    CAPTURE(draw);
    try_corner(corner, static_cast<std::uint64_t>(draw));
  }
}
