// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/compiled_set.h"
#include "fourbeat/drive/motion.h"
#include "fourbeat/drive/row_choice.h"
#include "fourbeat/model/key_map.h"
#include "fourbeat/model/sound.h"

#include <array>
#include <cstddef>
#include <cstdint>
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
};

/// A clip with the gain it is played at; clip `none` is silence.
struct ImagePart {
  int clip = none;
  float gain = 1.0F;
};

/// What one use of a key plays.
struct ImageUse {
  int number = 0;
  model::KeyDirection direction = model::KeyDirection::any;
  model::SoundKind kind = model::SoundKind::one_shot;
  int priority = 50;
  ImagePart shot;
  ImagePart begin;
  ImagePart hold;
  ImagePart release;
  int join_frames = 0;     ///< crossfade of begin into hold; 0: hold follows sample for sample
  float join_rho = 0.0F;   ///< correlation of its two sides, 0 to 1
  int release_frames = 0;  ///< crossfade into release, or fade out without one
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
};

/// A range of CompiledSet::uses.
struct UseRange {
  int first = 0;
  int last = 0;  ///< exclusive
};

struct CompiledSet {
  int sample_rate_hz = 0;
  int voices = 1;
  bool chuffs_may_overlap = true;
  int chuff_priority = 90;
  int fused_fade_frames = 1;  ///< into and out of the loop of a fused row
  model::Engine engine;
  std::vector<double> beat_turns;  ///< where in the turn each beat falls, 0 ≤ … < 1, ascending
  CvBank cvs;
  std::vector<std::string> piece_names;
  std::vector<ImageClip> clips;
  std::vector<ImageRow> rows;
  std::vector<RowBand> bands;  ///< one a row
  std::vector<ImageUse> uses;  ///< grouped by key number
  std::array<UseRange, model::highest_key + 1> keys{};
};

}  // namespace fourbeat::drive
