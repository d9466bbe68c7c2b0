// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/key_map.h"
#include "fourbeat/model/sound.h"

#include <span>
#include <string_view>

/// What the demo's set consists of: its sounds, keys and CVs, as a designer would list them.

namespace fourbeat::demo {

/// One sound and where it is cut from.
struct PlannedSound {
  std::string_view event;  ///< name of the true event it is cut from
  std::string_view name;
  model::SoundKind kind;
  model::Category category;
  double gain_db;  ///< playback gain: the balance of the set
  int priority;
  double importance;
  double high_pass_hz;  ///< against rumble
  bool on_cab_cable;    ///< its microphone's cable picks up mains hum
};

/// One use of a key.
struct PlannedKey {
  int number;
  std::string_view label;
  model::KeyMode mode;
  model::KeyDirection direction;
  std::string_view event;  ///< of the sound it plays
};

struct PlannedCv {
  int number;
  int value;
  std::string_view name;
  std::string_view note;
};

[[nodiscard]] std::span<const PlannedSound> planned_sounds();
[[nodiscard]] std::span<const PlannedKey> planned_keys();
[[nodiscard]] std::span<const PlannedCv> planned_cvs();
[[nodiscard]] std::string_view planned_notes();

/// A run card's path below the project's folder and its text.
struct PlannedCard {
  std::string_view path;
  std::string_view text;
};
[[nodiscard]] std::span<const PlannedCard> planned_cards();

}  // namespace fourbeat::demo
