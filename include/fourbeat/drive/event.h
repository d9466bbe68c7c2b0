// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/chuff_table.h"
#include "fourbeat/model/state.h"

#include <cstddef>
#include <cstdint>
#include <string_view>
#include <type_traits>

namespace fourbeat::drive {

enum class EventKind {
  beat,
  state,      ///< another state than before
  own_state,  ///< one of the set's own is entered or left
  effort,
  key,
  cv,
  voice_start,
  voice_end,
  speed,
  duty,    ///< something came about with fire, water or steam
  gauges,  ///< pressure, fire and water, every second while duties are on
  slip,    ///< the wheels lose their grip, or have it again
  hold,    ///< a sound holds the motion, or lets it go
  power
};

/// What comes about with fire, water and steam.
enum class DutyEvent { blows_off, reseats, primes, fire_dropped, recovered };

/// The parts of the mix.
enum class Stem { chuffs, layers, keys, beds };
inline constexpr std::size_t stem_count = 4;

/// Why a voice starts or ends.
enum class Reason {
  unset,
  key,          ///< start: a key was put on
  beat,         ///< start: a beat came
  trigger,      ///< start: a trigger was set off
  layer,        ///< start: a layer came into force, or its place on the wheel or the rail
  handed_over,  ///< end of a begin and start of its hold
  released,     ///< end of a begin or hold and start of its release
  ended,        ///< end: the piece was played to its last frame
  stopped,      ///< end: its layer or a trigger stopped it
  gave_way,     ///< end: another sound of its group began
  cut,          ///< end: the track power has gone
  stolen,       ///< end: a sound of at least its priority took the voice
  replaced,     ///< end: its own successor took the voice (same key again, next chuff)
  no_voice      ///< a sound that found no voice; the voice number is -1
};

/// What render() tells: plain data, no memory of its own. Fields beside `frame` and `kind` are
/// used as the kind needs.
struct EngineEvent {
  std::int64_t frame = 0;
  EventKind kind = EventKind::speed;
  model::State state = model::State::standing;  ///< state
  Reason reason = Reason::unset;                ///< voice_*
  model::Effort effort = model::Effort::easy;   ///< beat
  int row = -1;                                 ///< beat: index into the table's rows, -1: none
  int position = 0;                             ///< beat
  int piece = -1;                               ///< voice_*: index of the piece
  int number = 0;          ///< key, cv, own_state: its number; voice_*: the voice; duty: DutyEvent
  int value = 0;           ///< cv: its value; key, own_state, slip, hold, power: 1 on, 0 off
  double speed_kmh = 0.0;  ///< beat, speed
  double turns = 0.0;      ///< beat: that the driving wheel has made so far, slips included
  double pressure_bar = 0.0;  ///< gauges; fire and water: shares, 0 to 1
  double fire = 0.0;
  double water = 0.0;
};
static_assert(std::is_trivially_copyable_v<EngineEvent>);

/// The names that logs carry.
[[nodiscard]] std::string_view reason_name(Reason reason);
[[nodiscard]] std::string_view duty_name(DutyEvent duty);
[[nodiscard]] std::string_view stem_name(Stem stem);

}  // namespace fourbeat::drive
