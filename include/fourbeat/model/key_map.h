// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/sound.h"

#include <string>

namespace fourbeat::model {

inline constexpr int highest_key = 68;  ///< F68, the last function of RCN-212

enum class KeyMode { latching, momentary };
enum class KeyDirection { any, forward, reverse };

/// One use of a function key: it plays a sound. A momentary key holds while pressed; a latching
/// one holds until pressed again.
struct Key {
  Id<Key> id;
  int number = 0;  ///< F0 … F68
  std::string label;
  KeyMode mode = KeyMode::latching;
  KeyDirection direction = KeyDirection::any;
  Id<Sound> sound;
  Extra extra;
  bool operator==(const Key&) const = default;
};

/// A configuration variable of the set (NMRA S-9.2.2 / RCN-225) with the value it ships with.
/// Numbers out of range can be stored: they are a snag, not a loss.
struct Cv {
  Id<Cv> id;
  int number = 0;  ///< 1 to 1024
  int value = 0;   ///< 0 to 255
  std::string name;
  std::string note;
  Extra extra;
  bool operator==(const Cv&) const = default;
};

}  // namespace fourbeat::model
