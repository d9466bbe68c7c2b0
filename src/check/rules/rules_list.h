// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/check/rules.h"

#include <string>
#include <vector>

/// The rules, one a file of this folder, and the words they share.

namespace fourbeat::check {

using Snags = std::vector<Snag>;

void brake_without_key(const model::Project&, const Facts&, Snags&);
void cannot_render(const model::Project&, const Facts&, Snags&);
void chuff_row_gaps(const model::Project&, const Facts&, Snags&);
void chuff_too_long(const model::Project&, const Facts&, Snags&);
void crossfade_too_long(const model::Project&, const Facts&, Snags&);
void cv_effect(const model::Project&, const Facts&, Snags&);
void cv_out_of_range(const model::Project&, const Facts&, Snags&);
void derived_row(const model::Project&, const Facts&, Snags&);
void duty_without_key(const model::Project&, const Facts&, Snags&);
void empty_set(const model::Project&, const Facts&, Snags&);
void key_beyond_decoder(const model::Project&, const Facts&, Snags&);
void key_contradiction(const model::Project&, const Facts&, Snags&);
void layers_for_drifting(const model::Project&, const Facts&, Snags&);
void loop_outside_segment(const model::Project&, const Facts&, Snags&);
void lower_encoding(const model::Project&, const Facts&, Snags&);
void missing_take(const model::Project&, const Facts&, Snags&);
void never_ends(const model::Project&, const Facts&, Snags&);
void no_decoder(const model::Project&, const Facts&, Snags&);
void no_head_room(const model::Project&, const Facts&, Snags&);
void no_rights(const model::Project&, const Facts&, Snags&);
void option_cv(const model::Project&, const Facts&, Snags&);
void over_budget(const model::Project&, const Facts&, Snags&);
void run_card(const model::Project&, const Facts&, Snags&);
void seam(const model::Project&, const Facts&, Snags&);
void sound_without_segment(const model::Project&, const Facts&, Snags&);
void speed_gap_in_variants(const model::Project&, const Facts&, Snags&);
void too_few_voices(const model::Project&, const Facts&, Snags&);
void trigger_without_sound(const model::Project&, const Facts&, Snags&);
void unsigned_seam(const model::Project&, const Facts&, Snags&);
void wake_key(const model::Project&, const Facts&, Snags&);

/// Names of entities in words, for labels.
[[nodiscard]] std::string label_of(const model::Take& take);
[[nodiscard]] std::string label_of(const model::Pass& pass);
[[nodiscard]] std::string label_of(const model::Segment& segment);
[[nodiscard]] std::string label_of(const model::Sound& sound);
[[nodiscard]] std::string label_of(const model::ChuffRow& row);
[[nodiscard]] std::string label_of(const model::Key& key);
[[nodiscard]] std::string label_of(const model::Cv& cv);
[[nodiscard]] std::string label_of(const model::OwnState& state);
[[nodiscard]] std::string label_of(const model::Trigger& trigger);
[[nodiscard]] std::string label_of(const model::Layer& layer);
[[nodiscard]] std::string label_of(const model::Option& option);
inline constexpr const char* set_label = "the set";

/// Whether one option, by its value, keeps the two apart.
[[nodiscard]] bool differ_by_option(const model::When& a, const model::When& b);
/// Whether both can be in force at the same time. A state of the set's own may come with any.
[[nodiscard]] bool may_meet(const model::When& a, const model::When& b);

/// Where a loop stands in the project, and what it is a loop of.
struct LoopWords {
  std::string pointer;
  std::string label;
};
[[nodiscard]] LoopWords loop_words(const model::Project& project, const model::Segment& segment);
[[nodiscard]] LoopWords loop_words(const model::Project& project, const model::ChuffRow& row);
/// Of a piece of looped_pieces().
[[nodiscard]] LoopWords loop_words(const model::Project& project, const model::PieceKey& key);

/// A loop and the material it lies in: of a segment, or of a fused row.
struct LoopPlace {
  FrameRange material;
  model::Loop loop;
  LoopWords words;
  const char* word = "segment";  ///< what the material is called
};
/// Segments in the project's order, then rows.
[[nodiscard]] std::vector<LoopPlace> loops_of(const model::Project& project);

}  // namespace fourbeat::check
