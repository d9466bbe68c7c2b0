// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/chuff_table.h"
#include "fourbeat/model/state.h"

#include <cstdint>
#include <string_view>
#include <type_traits>

namespace fourbeat::drive {

enum class EventKind { beat, state, key, cv, voice_start, voice_end, speed };

/// Why a voice starts or ends.
enum class Reason {
  unset,
  key,          ///< start: a key was put on
  beat,         ///< start: a beat came
  handed_over,  ///< end of a begin and start of its hold
  released,     ///< end of a begin or hold and start of its release
  ended,        ///< end: the piece was played to its last frame
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
  int number = 0;                               ///< key, cv: its number; voice_*: the voice
  int value = 0;                                ///< key: 1 on, 0 off; cv: its value
  double speed_kmh = 0.0;                       ///< beat, speed
};
static_assert(std::is_trivially_copyable_v<EngineEvent>);

/// The names that logs carry.
[[nodiscard]] std::string_view reason_name(Reason reason);

}  // namespace fourbeat::drive
