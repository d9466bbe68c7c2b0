// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/id.h"
#include "fourbeat/model/effort.h"
#include "fourbeat/model/extra.h"
#include "fourbeat/model/option.h"

#include <optional>
#include <string>
#include <vector>

namespace fourbeat::model {

/// What the engine is doing: exactly one at any time. How each is told: docs/drive.md, section 5.
enum class State {
  standing,
  starting,  ///< leaving rest, up to the first turn of the wheel
  working,
  coasting,  ///< under way with the regulator shut
  braking,   ///< slowed by a brake key
  stopping,  ///< running down to rest
  asleep,    ///< its sound is off: before it is put on, and after it is shut down
  no_power   ///< the track gives none
};

/// A state that the set names, beside the others: in force once all that it asks for has held for
/// after_s, until one of them has ceased to and it has lasted hold_s.
struct OwnState {
  Id<OwnState> id;
  std::string name;
  std::vector<State> during;  ///< one of these; empty: any
  std::optional<Effort> effort;
  std::optional<double> from_kmh;   ///< at this speed or above
  std::optional<double> below_kmh;  ///< below this speed
  double hysteresis_kmh = 1.0;      ///< how far beyond its edge a speed ends the state; 0 to 50
  double after_s = 0.0;             ///< 0 to 7200
  double hold_s = 0.5;              ///< 0 to 3600
  Extra extra;
  bool operator==(const OwnState&) const = default;
};

/// When something of the set is in force. Empty: always.
struct When {
  std::vector<State> states;             ///< in one of these,
  std::vector<Id<OwnState>> own_states;  ///< or of these; both empty: in any
  Id<Option> option;                     ///< and while this option
  int option_value = 0;                  ///< has this value; no option: whatever it has
  Extra extra;
  bool operator==(const When&) const = default;
};

}  // namespace fourbeat::model
