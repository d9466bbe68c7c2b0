// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/duties.h"
#include "fourbeat/model/layer.h"
#include "fourbeat/model/sound.h"
#include "fourbeat/model/state.h"
#include "fourbeat/model/trigger.h"

#include <optional>
#include <string>
#include <variant>
#include <vector>

namespace fourbeat::model {

inline constexpr int highest_key = 68;  ///< F68, the last function of RCN-212

enum class KeyMode { latching, momentary };
enum class KeyDirection { any, forward, reverse };

/// A variant that serves from a speed on, up to that of the next.
struct SpeedVariant {
  double from_kmh = 0.0;  ///< above 0, ascending; to 300
  Id<Sound> sound;
  Extra extra;
  bool operator==(const SpeedVariant&) const = default;
};

/// Slows the engine while the key is on.
struct BrakeKey {
  double strength = 1.0;  ///< of Driving::full_brake_s; 0.01 to 1
  double grows_s = 0.0;   ///< from nothing to its strength while held; 0 to 60
  Extra extra;
  bool operator==(const BrakeKey&) const = default;
};
/// The throttle acts at once, or with less momentum, while the key is on.
struct DirectControlKey {
  double momentum = 0.0;  ///< share of its time that is left; 0 to 1
  Extra extra;
  bool operator==(const DirectControlKey&) const = default;
};
/// Nothing is heard while the key is on.
struct SilenceKey {
  double fade_s = 0.5;  ///< 0.02 to 30
  Extra extra;
  bool operator==(const SilenceKey&) const = default;
};
/// Everything is heard softer while the key is on.
struct SoftenKey {
  double by_db = 12.0;  ///< 0 to 60
  Extra extra;
  bool operator==(const SoftenKey&) const = default;
};
struct ChoreKey {
  Chore chore = Chore::fire;
  Extra extra;
  bool operator==(const ChoreKey&) const = default;
};
/// The engine sounds as at this effort while the key is on.
struct EffortKey {
  Effort effort = Effort::hard;
  Extra extra;
  bool operator==(const EffortKey&) const = default;
};
/// The option has another value while the key is on.
struct OptionKey {
  Id<Option> option;
  int value = 1;  ///< 0 to 255
  Extra extra;
  bool operator==(const OptionKey&) const = default;
};
/// Puts the engine's sound on, and shuts it down.
struct WakeKey {
  bool starts_asleep = true;  ///< the engine is asleep until the key is first put on
  Extra extra;
  bool operator==(const WakeKey&) const = default;
};
/// The wheels slip as Driving::slip says when the key is put on under way.
struct SlipKey {
  double strength = 1.0;  ///< of Slip::wheel_kmh; 0.1 to 3
  Extra extra;
  bool operator==(const SlipKey&) const = default;
};
using KeyTask = std::variant<BrakeKey, DirectControlKey, SilenceKey, SoftenKey, ChoreKey, EffortKey,
                             OptionKey, WakeKey, SlipKey>;

/// One use of a function key: it plays a sound, or does a task, or both. A momentary key holds
/// while pressed; a latching one holds until pressed again.
struct Key {
  Id<Key> id;
  int number = 0;  ///< F0 … F68
  std::string label;
  KeyMode mode = KeyMode::latching;
  KeyDirection direction = KeyDirection::any;
  When when;  ///< of its sound, judged when the key is put on
  Id<Sound> sound;
  std::vector<SpeedVariant> by_speed;  ///< in place of `sound`, chosen when the key is put on
  double gain_db = 0.0;                ///< over the sound's own; -60 to 20
  std::optional<KeyTask> task;
  Extra extra;
  bool operator==(const Key&) const = default;
};

/// What a CV of the set changes.
enum class CvTarget {
  set_gain,      ///< dB over the whole set
  chuff_gain,    ///< dB over the chuff table's
  sound_gain,    ///< dB over CvEffect::sound's
  layer_gain,    ///< dB over CvEffect::layer's
  state_speed,   ///< from_kmh or, without one, below_kmh of CvEffect::state
  state_time,    ///< after_s of CvEffect::state
  trigger_time,  ///< delay_s of CvEffect::trigger, or of its `every` the shortest
  sync_error,    ///< Synchronisation::error_percent
  row_delay,     ///< Synchronisation::row_delay_s
  full_brake,    ///< Driving::full_brake_s
  coasting,      ///< Driving::coasting_factor
  cocks_open,    ///< Driving::cocks_open_turns
  duties,        ///< from 0.5 up duties are on
  duty_pace      ///< how many times as fast duties run
};

/// What a CV of the set does: its value, 0 to 255, stands for a figure between two.
struct CvEffect {
  CvTarget target = CvTarget::set_gain;
  Id<Sound> sound;
  Id<Layer> layer;
  Id<OwnState> state;
  Id<Trigger> trigger;
  double at_0 = -60.0;  ///< -7200 to 7200, then held to what the target may be
  double at_255 = 0.0;
  Extra extra;
  bool operator==(const CvEffect&) const = default;
};

/// A configuration variable of the set (NMRA S-9.2.2 / RCN-225) with the value it ships with.
/// Numbers out of range can be stored: they are a snag, not a loss.
struct Cv {
  Id<Cv> id;
  int number = 0;  ///< 1 to 1024
  int value = 0;   ///< 0 to 255
  std::string name;
  std::string note;
  std::optional<CvEffect> effect;
  Extra extra;
  bool operator==(const Cv&) const = default;
};

}  // namespace fourbeat::model
