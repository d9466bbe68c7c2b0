// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/compiled_set.h"
#include "fourbeat/drive/engine.h"
#include "fourbeat/drive/motion.h"
#include "fourbeat/drive/row_choice.h"
#include "fourbeat/model/driving.h"
#include "fourbeat/model/duties.h"
#include "fourbeat/model/key_map.h"
#include "fourbeat/model/layer.h"
#include "fourbeat/model/sound.h"
#include "fourbeat/model/trigger.h"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::drive {

inline constexpr int none = -1;  ///< no such index

/// Samples at the output rate. A hold loops [loop_start, samples.size()) when loop_start is not
/// `none`; anything else plays once.
struct ImageClip {
  std::vector<float> samples;
  std::int64_t loop_start = none;
  int piece = none;

  [[nodiscard]] std::int64_t frames() const { return static_cast<std::int64_t>(samples.size()); }
  bool operator==(const ImageClip&) const = default;
};

/// A clip with the gain it is played at; clip `none` is silence.
struct ImagePart {
  int clip = none;
  float gain = 1.0F;
  bool operator==(const ImagePart&) const = default;
};

/// One way in which the set plays a sound: by a key, a trigger or a layer.
struct ImageUse {
  int sound = none;  ///< index into Project::sounds
  model::SoundKind kind = model::SoundKind::one_shot;
  int priority = 50;
  model::Retrigger retrigger = model::Retrigger::afresh;
  int group = none;  ///< of the sounds of a group one plays at a time
  Stem stem = Stem::keys;
  Reason reason = Reason::key;  ///< why it starts
  int layer = none;             ///< of which it is
  ImagePart shot;
  ImagePart begin;
  ImagePart hold;
  ImagePart release;
  int join_frames = 0;     ///< crossfade of begin into hold; 0: hold follows sample for sample
  float join_rho = 0.0F;   ///< correlation of its two sides, 0 to 1
  int release_frames = 0;  ///< crossfade into release, or fade out without one
  bool operator==(const ImageUse&) const = default;
};

struct ImageRow {
  Id<model::ChuffRow> id;
  std::vector<std::vector<ImagePart>> revolutions;
  ImagePart fused;  ///< a loop, played in their place

  /// The chuff at a place of a turn; null where the row holds none.
  [[nodiscard]] const ImagePart* chuff(std::int64_t turn, std::size_t position) const noexcept {
    if (revolutions.empty()) return nullptr;
    const auto& chuffs = revolutions[revolution_of_turn(turn, revolutions.size())];
    if (position >= chuffs.size() || chuffs[position].clip == none) return nullptr;
    return &chuffs[position];
  }
  bool operator==(const ImageRow&) const = default;
};

inline constexpr std::size_t most_own_states = 64;

/// model::When in bits.
struct ImageWhen {
  std::uint32_t states = 0;      ///< by model::State
  std::uint64_t own_states = 0;  ///< by place in Project::states; both 0: any state
  int option_cv = 0;             ///< 0: whatever the options
  int option_value = 0;
  bool operator==(const ImageWhen&) const = default;
};

struct ImageVariant {
  double from_kmh = 0.0;
  int use = none;
  bool operator==(const ImageVariant&) const = default;
};

/// One use of a key.
struct ImageKey {
  int number = 0;
  model::KeyDirection direction = model::KeyDirection::any;
  ImageWhen when;
  int use = none;
  std::vector<ImageVariant> variants;  ///< ascending
  std::optional<model::KeyTask> task;
  int option_cv = 0;  ///< of a task that switches one
  bool operator==(const ImageKey&) const = default;
};

struct ImageTrigger {
  model::TriggerEvent event = model::TriggerEvent::state_entered;
  model::State state = model::State::standing;
  int own_state = none;
  double speed_kmh = 0.0;
  bool every = false;
  double chance = 1.0;
  ImageWhen when;
  model::TriggerAction action = model::TriggerAction::start;
  int use = none;         ///< what it starts
  int sound = none;       ///< what it is about
  int instead_of = none;  ///< the sound that a swap stops
  double fade_s = 0.0;
  bool lasts = false;
  double lasts_from_s = 0.0;
  double lasts_to_s = 0.0;
  double holds_motion_s = 0.0;
  bool operator==(const ImageTrigger&) const = default;
};

struct ImageLayer {
  model::LayerKind kind = model::LayerKind::bed;
  std::vector<int> uses;
  std::vector<double> places;  ///< of a cycle, 0 ≤ … < 1, ascending: of the wheel, or of a rail
  double cycle_m = 0.0;        ///< of distance: a rail
  double from_kmh = 0.0;
  double to_kmh = 0.0;
  double first_turns = 0.0;
  std::array<double, 3> effort_db{};  ///< by model::Effort
  std::vector<model::SpeedLevel> levels;
  int fade_frames = 1;
  ImageWhen when;
  bool operator==(const ImageLayer&) const = default;
};

/// What one CV of the set changes.
struct ImageEffect {
  int cv = 0;
  model::CvTarget target = model::CvTarget::set_gain;
  int index = none;  ///< of the sound, layer, state or trigger
  double at_0 = 0.0;
  double at_255 = 0.0;
  double low = 0.0;  ///< what the target may be
  double high = 0.0;
  bool operator==(const ImageEffect&) const = default;
};

/// What triggers may draw and wait for, before CVs change it.
struct TriggerTimes {
  double delay_s = 0.0;
  double every_from_s = 0.0;
  double every_to_s = 0.0;
  bool operator==(const TriggerTimes&) const = default;
};

struct CompiledSet {
  int sample_rate_hz = 0;
  int voices = 1;
  bool chuffs_may_overlap = true;
  int chuff_priority = 90;
  int fused_fade_frames = 1;  ///< into and out of the loop of a fused row
  model::Engine engine;
  model::Driving driving;
  std::optional<model::Duties> duties;
  std::vector<double> beat_turns;  ///< where in the turn each beat falls, 0 ≤ … < 1, ascending
  CvBank cvs;
  std::vector<std::string> piece_names;
  std::vector<ImageClip> clips;
  std::vector<ImageRow> rows;
  std::vector<RowBand> bands;  ///< one a row
  std::vector<ImageUse> uses;
  std::size_t sounds = 0;      ///< how many the project has
  std::vector<ImageKey> keys;  ///< by number, then as the project lists them
  std::vector<model::OwnState> own_states;
  std::vector<ImageTrigger> triggers;
  std::vector<TriggerTimes> trigger_times;  ///< one a trigger
  std::vector<ImageLayer> layers;
  std::vector<ImageEffect> effects;

  [[nodiscard]] const ImageUse& use(int index) const {
    return uses[static_cast<std::size_t>(index)];
  }
  bool operator==(const CompiledSet&) const = default;
};

}  // namespace fourbeat::drive
