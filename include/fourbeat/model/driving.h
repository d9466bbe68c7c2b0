// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/extra.h"

#include <optional>
#include <vector>

namespace fourbeat::model {

/// A point of the model's calibration: the drive level and the speed it runs at.
struct SpeedPoint {
  double level = 0.0;      ///< 0 to 255, ascending
  double speed_kmh = 0.0;  ///< of the prototype; 0 to 300, not falling
  Extra extra;
  bool operator==(const SpeedPoint&) const = default;
};

/// How the decoder knows when a beat is due.
enum class SyncKind {
  exact,      ///< it knows the wheel's angle
  sensor,     ///< from the pulses of a sensor on the wheel
  calculated  ///< from the drive level, with an error
};

struct Synchronisation {
  SyncKind kind = SyncKind::exact;
  int pulses_per_turn = 4;     ///< of sensor; 1 to 64
  double error_percent = 0.0;  ///< of calculated: beats more than the wheel makes; -50 to 50
  double row_delay_s = 0.0;    ///< how late speed and effort reach the choice of a row; 0 to 2
  Extra extra;
  bool operator==(const Synchronisation&) const = default;
};

/// The driving wheels lose their grip at a start and turn faster than the engine moves.
struct Slip {
  double chance = 0.0;      ///< at each start with a load of heavy_start_load or more; 0 to 1
  double wheel_kmh = 25;    ///< how much faster the rims turn at most; 1 to 100
  double rises_s = 0.4;     ///< 0.05 to 10
  double lasts_s = 0.8;     ///< at its height; 0 to 10
  double recovers_s = 0.5;  ///< 0.05 to 10
  Extra extra;
  bool operator==(const Slip&) const = default;
};

/// How the model drives and what its sounds follow.
struct Driving {
  std::vector<SpeedPoint> speed_curve;  ///< empty: speed is level / 255 × top speed
  Synchronisation sync;
  double cocks_open_turns = 4.0;         ///< after rest; common practice, no source; 0 to 50
  double heavy_start_load = 0.5;         ///< from this load on a start is a heavy one; ours; 0 to 1
  double effort_hold_s = 0.5;            ///< an effort lasts at least so long; 0 to 30
  double state_hold_s = 0.3;             ///< a state likewise; rest and power come at once; 0 to 30
  bool drifting_without_chuffs = false;  ///< drifting is for the layers where no row serves it
  bool coasts_until_braked = false;      ///< only a brake key slows the engine under CV4
  double coasting_factor = 8.0;          ///< how much longer it takes without; 1 to 100
  double full_brake_s = 6.0;             ///< from top speed to rest under a full brake; 0.1 to 600
  double power_reserve_s = 0.5;          ///< sound lasts so long without track power; 0 to 600
  double power_fade_s = 0.3;             ///< and fades out so long; 0.01 to 30
  double sleeps_after_s = 5.0;           ///< shut down, its beds and layers last so long; 0 to 600
  std::optional<Slip> slip;
  Extra extra;
  bool operator==(const Driving&) const = default;
};

}  // namespace fourbeat::model
