// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/extra.h"

namespace fourbeat::model {

/// A chore that keeps steam.
enum class Chore {
  fire,  ///< coal on the fire: a charge each time
  feed   ///< water into the boiler, as long as the key is on
};

/// Fire, water and steam as timers. Pressures in bar over the atmosphere; fire, coal and water as
/// shares, 0 to 1, of a full grate and a full glass. Equations: docs/steam.md. The figures are
/// Fourbeat's own, scaled so that a chore falls due in minutes of play, not of an engine's day.
struct Duties {
  bool on = false;                    ///< off: pressure holds, and no chore does anything
  double start_bar = 11.0;            ///< at the start; 0 to 30
  double lift_bar = 12.0;             ///< safety valves lift
  double reseat_bar = 11.5;           ///< and shut; below lift_bar
  double weak_bar = 8.0;              ///< from here down the engine pulls less,
  double stalled_bar = 4.0;           ///< down to nothing here; below weak_bar
  double heat_bar_per_min = 3.0;      ///< from a full fire, fully blown; 0 to 60, as all rates
  double standing_bar_per_min = 0.3;  ///< lost always
  double working_bar_per_min = 2.0;   ///< used at top speed and hard effort
  double valve_bar_per_min = 6.0;     ///< through a lifted safety valve
  double start_fire = 0.8;
  double burn_per_min = 0.04;          ///< of a full fire, when nothing blows it
  double working_burn_per_min = 0.12;  ///< more when it is fully blown
  double charge = 0.25;                ///< of the grate, a charge of coal
  double kindling_s = 20.0;            ///< until it burns; 0 to 600
  double charge_bar = 0.3;             ///< what it pulls the pressure down by meanwhile; 0 to 10
  double start_water = 0.7;
  double working_water_per_min = 0.08;  ///< used at top speed and hard effort
  double feed_water_per_min = 0.35;
  double feed_bar_per_min = 1.5;  ///< what feeding pulls the pressure down by
  double low_water = 0.15;        ///< from here down for grace_s: the fire must be dropped
  double high_water = 0.92;       ///< from here up the boiler primes when steam is used
  double grace_s = 30.0;          ///< 0 to 600
  double relight_s = 60.0;        ///< after the fire was dropped, coal makes fire again; 0 to 3600
  Extra extra;
  bool operator==(const Duties&) const = default;
};

}  // namespace fourbeat::model
