// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/steam.h"

#include "fourbeat/model/cv_targets.h"

#include <algorithm>
#include <utility>

namespace fourbeat::drive {

namespace {

// All ours, see docs/steam.md.
constexpr double easy_use = 0.5;             // of what hard effort uses
constexpr double most_over_bar = 1.0;        // the valves let no more stand above lift_bar
constexpr double priming_pull = 0.5;         // of the pull there would be
constexpr double carried_over = 1.0;         // water beside what is used, while priming
constexpr double priming_hysteresis = 0.02;  // of the glass
constexpr double priming_ends_s = 2.0;       // without steam used
constexpr double warning_share = 0.25;       // of the way from trouble to plenty
constexpr double warning_hysteresis = 0.05;  // likewise
constexpr double longest_step_s = 0.1;

double a_second(double a_minute) {
  return a_minute / 60.0;
}

/// 0 at `low`, 1 at `high`, straight between.
double share_of_way(double value, double low, double high) {
  if (value >= high) return 1.0;
  return value <= low ? 0.0 : (value - low) / (high - low);
}

/// Whether a value is a quarter of the way from `low` up to `high` or less; once it is, a little
/// more.
bool warns(bool warned, double value, double low, double high) {
  const double way = std::max(0.0, high - low);
  const double share = warning_share + (warned ? warning_hysteresis : 0.0);
  return value <= low + share * way;
}

/// 0 for what is no number.
double held(double value, double high) {
  return value > 0.0 ? std::min(value, high) : 0.0;
}

}  // namespace

double steam_use(const Draw& draw) noexcept {
  if (draw.at_rest || draw.effort == model::Effort::drifting) return 0.0;
  return held(draw.speed_share, 1.0) * (draw.effort == model::Effort::hard ? 1.0 : easy_use);
}

Steam::Steam(model::Duties duties)
    : duties_(std::move(duties)),
      on_(duties_.on),
      pressure_bar_(std::min(duties_.start_bar, duties_.lift_bar)),
      fire_(duties_.start_fire),
      water_(duties_.start_water) {
  duties_.extra.clear();
  judge_warnings();
}

void Steam::set_pace(double times) noexcept {
  pace_ = std::max(model::duty_pace_rule.low, held(times, model::duty_pace_rule.high));
}

void Steam::fire() noexcept {
  if (!on_) return;
  const double put = std::min(duties_.charge, std::max(0.0, 1.0 - fire_ - coal_));
  coal_ += put;
  balance_.shovelled += put;
}

double Steam::pull() const noexcept {
  if (!on_) return 1.0;
  const double steam = share_of_way(pressure_bar_, duties_.stalled_bar, duties_.weak_bar);
  return priming_ ? priming_pull * steam : steam;
}

double Steam::grace_left_s() const noexcept {
  return std::max(0.0, duties_.grace_s - low_s_);
}

struct Steam::Flow {
  double burnt = 0.0;
  double kindled = 0.0;
  double fed = 0.0;
  double used = 0.0;
  double carried = 0.0;
  double heat_bar = 0.0;
  double standing_bar = 0.0;
  double working_bar = 0.0;
  double kindling_bar = 0.0;
  double feeding_bar = 0.0;
  double valve_bar = 0.0;

  [[nodiscard]] double lost_bar() const noexcept {
    return standing_bar + working_bar + kindling_bar + feeding_bar + valve_bar;
  }
};

Steam::Flow Steam::flow(double seconds, double use) const noexcept {
  Flow made;
  const double rest = a_second(duties_.burn_per_min);
  const double more = a_second(duties_.working_burn_per_min);
  const double blower = 1.0 - share_of_way(pressure_bar_, duties_.weak_bar, duties_.lift_bar);
  const double burns = (rest + more * std::max(use, blower)) * seconds;
  made.burnt = std::min(fire_, fire_ * burns);
  if (!unlit_) {
    made.kindled = duties_.kindling_s > 0.0
                       ? std::min(coal_, duties_.charge / duties_.kindling_s * seconds)
                       : coal_;
  }
  if (feeding_) {
    made.fed = std::clamp(a_second(duties_.feed_water_per_min) * seconds, 0.0, 1.0 - water_);
  }
  const double used = a_second(duties_.working_water_per_min) * use * seconds;
  made.used = std::min(used, water_ + made.fed);
  if (priming_) made.carried = std::min(carried_over * used, water_ + made.fed - made.used);

  // Heat goes with the coal burnt; a fire that never burns down gives it evenly.
  const double heated = rest + more > 0.0 ? made.burnt / (rest + more) : fire_ * seconds;
  made.heat_bar = a_second(duties_.heat_bar_per_min) * heated;
  made.standing_bar = a_second(duties_.standing_bar_per_min) * seconds;
  made.working_bar = a_second(duties_.working_bar_per_min) * use * seconds;
  if (made.kindled > 0.0) made.kindling_bar = duties_.charge_bar * (made.kindled / duties_.charge);
  if (made.fed > 0.0) {
    made.feeding_bar = duties_.feed_bar_per_min * (made.fed / duties_.feed_water_per_min);
  }
  if (lifted_) made.valve_bar = a_second(duties_.valve_bar_per_min) * seconds;

  // No more is lost than there is, and the valves let no more than so much stand.
  const double there = pressure_bar_ + made.heat_bar;
  if (const double lost = made.lost_bar(); lost > there) {
    const double share = there / lost;
    for (double* loss : {&made.standing_bar, &made.working_bar, &made.kindling_bar,
                         &made.feeding_bar, &made.valve_bar})
      *loss *= share;
  }
  made.valve_bar += std::max(0.0, there - made.lost_bar() - (duties_.lift_bar + most_over_bar));
  return made;
}

void Steam::move(const Flow& flow) noexcept {
  // The bounds catch rounding alone: flow() and fire() keep within them.
  fire_ = std::clamp(fire_ + flow.kindled - flow.burnt, 0.0, 1.0);
  coal_ -= flow.kindled;
  water_ = std::clamp(water_ + flow.fed - flow.used - flow.carried, 0.0, 1.0);
  pressure_bar_ = std::max(0.0, pressure_bar_ + flow.heat_bar - flow.lost_bar());

  balance_.kindled += flow.kindled;
  balance_.burnt += flow.burnt;
  balance_.fed_water += flow.fed;
  balance_.used_water += flow.used;
  balance_.carried_water += flow.carried;
  balance_.heat_bar += flow.heat_bar;
  balance_.standing_bar += flow.standing_bar;
  balance_.working_bar += flow.working_bar;
  balance_.kindling_bar += flow.kindling_bar;
  balance_.feeding_bar += flow.feeding_bar;
  balance_.valve_bar += flow.valve_bar;
}

SteamEvents Steam::advance(double dt_s, const Draw& draw) noexcept {
  SteamEvents told;
  if (!on_) {
    told.reseats = lifted_;
    lifted_ = false;
    priming_ = false;
    return told;
  }
  const double seconds = held(dt_s, longest_step_s) * pace_;
  const double use = steam_use(draw);
  move(flow(seconds, use));
  judge_valve(told);
  judge_priming(seconds, use > 0.0, told);
  judge_fire(seconds, told);
  judge_trouble(told);
  judge_warnings();
  return told;
}

void Steam::judge_valve(SteamEvents& told) noexcept {
  if (!lifted_ && pressure_bar_ >= duties_.lift_bar) {
    lifted_ = true;
    told.lifts = true;
  } else if (lifted_ && pressure_bar_ <= duties_.reseat_bar) {
    lifted_ = false;
    told.reseats = true;
  }
}

void Steam::judge_priming(double seconds, bool used, SteamEvents& told) noexcept {
  if (!priming_) {
    if (!used || water_ < duties_.high_water) return;
    priming_ = true;
    unused_s_ = 0.0;
    told.primes = true;
    return;
  }
  unused_s_ = used ? 0.0 : unused_s_ + seconds;
  const double room = std::min(priming_hysteresis, 0.5 * (duties_.high_water - duties_.low_water));
  priming_ = water_ >= duties_.high_water - room && unused_s_ < priming_ends_s;
}

void Steam::judge_fire(double seconds, SteamEvents& told) noexcept {
  const bool low = water_ <= duties_.low_water;
  if (unlit_) {
    relight_left_s_ = std::max(0.0, relight_left_s_ - seconds);
    if (!low && relight_left_s_ == 0.0 && coal_ > 0.0) unlit_ = false;
    low_s_ = 0.0;
    return;
  }
  low_s_ = low ? low_s_ + seconds : 0.0;
  if (!low || low_s_ < duties_.grace_s || fire_ + coal_ <= 0.0) return;
  balance_.dropped_fire += fire_;
  balance_.dropped_coal += coal_;
  fire_ = 0.0;
  coal_ = 0.0;
  unlit_ = true;
  relight_left_s_ = duties_.relight_s;
  told.fire_dropped = true;
}

void Steam::judge_trouble(SteamEvents& told) noexcept {
  if (unlit_ || pressure_bar_ <= duties_.stalled_bar) {
    in_trouble_ = true;
  } else if (in_trouble_ && pressure_bar_ >= duties_.weak_bar) {
    in_trouble_ = false;
    told.recovered = true;
  }
}

void Steam::judge_warnings() noexcept {
  pressure_warning_ = warns(pressure_warning_, pressure_bar_, duties_.weak_bar, duties_.lift_bar);
  water_warning_ = warns(water_warning_, water_, duties_.low_water, duties_.high_water);
}

}  // namespace fourbeat::drive
