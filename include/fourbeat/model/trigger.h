// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/sound.h"
#include "fourbeat/model/state.h"

#include <optional>
#include <string>

namespace fourbeat::model {

/// What sets a trigger off.
enum class TriggerEvent {
  state_entered,     ///< Trigger::state or own_state
  state_left,        ///< likewise
  leaving_rest,      ///< the driver asks an engine at rest to move
  at_rest,           ///< the wheels stop
  regulator_opened,  ///< steam is put on: the effort leaves drifting, or the engine starts
  regulator_closed,  ///< steam is shut off under way
  speed_rises,       ///< through Trigger::speed_kmh
  speed_falls,       ///< likewise
  reversing,         ///< the engine turns round
  sound_on,
  sound_off,
  power_on,
  power_off,
  every,      ///< again and again, at intervals drawn from Trigger::every
  blows_off,  ///< a safety valve lifts (duties)
  reseats,    ///< it shuts
  primes,     ///< water is carried over
  fire_dropped,
  slips  ///< the wheels lose their grip
};

/// The shortest time between two of a trigger that comes again and again.
inline constexpr double shortest_every_s = 0.5;

/// A time drawn evenly between two, from the drive's own seed.
struct TimeSpan {
  double from_s = 0.0;  ///< 0 to 7200
  double to_s = 0.0;    ///< from_s or more
  Extra extra;
  bool operator==(const TimeSpan&) const = default;
};

enum class TriggerAction {
  start,
  stop,  ///< lets a held sound go, ends another; with fade_s fades it out
  swap   ///< stops Trigger::instead_of and starts Trigger::sound, one fading into the other
};

/// What starts, stops or swaps a sound.
struct Trigger {
  Id<Trigger> id;
  std::string name;
  TriggerEvent event = TriggerEvent::state_entered;
  State state = State::standing;  ///< of state_entered and state_left, unless own_state is set
  Id<OwnState> own_state;
  double speed_kmh = 0.0;         ///< of speed_rises and speed_falls; 0 to 300
  std::optional<TimeSpan> every;  ///< of every, and of no other
  double delay_s = 0.0;           ///< from the event to the action; 0 to 600
  double chance = 1.0;            ///< of acting at all, drawn at each event; 0 to 1
  When when;                      ///< judged at the event
  TriggerAction action = TriggerAction::start;
  Id<Sound> sound;
  Id<Sound> instead_of;  ///< of swap, and of no other
  double gain_db = 0.0;  ///< over the sound's own; -60 to 20
  double fade_s = 0.0;   ///< of stop and swap; 0: as the sound ends by itself; 0 to 30
  std::optional<TimeSpan>
      lasts;  ///< a held sound is let go after it; none: when something stops it
  /// Of leaving_rest: the engine stays at rest until the sound has ended, at most so long; 0: it
  /// does not wait. 0 to 60.
  double holds_motion_s = 0.0;
  Extra extra;
  bool operator==(const Trigger&) const = default;
};

}  // namespace fourbeat::model
