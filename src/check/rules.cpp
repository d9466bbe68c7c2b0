// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/check/rules.h"

#include "rules/rules_list.h"

#include <array>

namespace fourbeat::check {

namespace {

constexpr std::array table{
    Rule{"missing_take", Severity::error, "a take is missing, changed or cannot be read",
         &missing_take},
    Rule{"cannot_render", Severity::error, "a segment or chuff row cannot be made from its takes",
         &cannot_render},
    Rule{"empty_set", Severity::hint, "the set has nothing to play yet", &empty_set},
    Rule{"sound_without_segment", Severity::error,
         "a sound has no segment to play, or none it can hold", &sound_without_segment},
    Rule{"loop_outside_segment", Severity::error, "a loop is empty or leaves its segment",
         &loop_outside_segment},
    Rule{"crossfade_too_long", Severity::error, "a crossfade is longer than its material",
         &crossfade_too_long},
    Rule{"seam", Severity::warning, "a seam can be heard, or may be", &seam},
    Rule{"unsigned_seam", Severity::warning, "nobody has signed a seam off by ear", &unsigned_seam},
    Rule{"lower_encoding", Severity::hint, "a seam was signed as heard better than it is stored",
         &lower_encoding},
    Rule{"key_contradiction", Severity::error, "two uses of a key contradict each other",
         &key_contradiction},
    Rule{"key_beyond_decoder", Severity::error, "a key the decoder does not have",
         &key_beyond_decoder},
    Rule{"wake_key", Severity::warning, "several keys put the engine's sound on", &wake_key},
    Rule{"speed_gap_in_variants", Severity::hint, "a key's sound is for speeds never reached",
         &speed_gap_in_variants},
    Rule{"trigger_without_sound", Severity::error,
         "a trigger or layer has no sound, or one of the wrong kind", &trigger_without_sound},
    Rule{"never_ends", Severity::warning, "a held sound is started and nothing lets it go",
         &never_ends},
    Rule{"brake_without_key", Severity::error, "an engine that must be braked has no brake key",
         &brake_without_key},
    Rule{"duty_without_key", Severity::error, "duties lack a key, or a key lacks its duty",
         &duty_without_key},
    Rule{"layers_for_drifting", Severity::warning, "drifting has neither chuffs nor layers",
         &layers_for_drifting},
    Rule{"chuff_row_gaps", Severity::error,
         "chuff rows leave speeds out, overlap or do not hold whole revolutions", &chuff_row_gaps},
    Rule{"derived_row", Severity::hint, "a chuff row is derived from another, not recorded",
         &derived_row},
    Rule{"chuff_too_long", Severity::warning,
         "a chuff outlasts its interval on a decoder that bars overlap", &chuff_too_long},
    Rule{"cv_out_of_range", Severity::error, "a CV's number or value is not one the standard has",
         &cv_out_of_range},
    Rule{"option_cv", Severity::error, "an option or effect has no CV it can have, or no choice",
         &option_cv},
    Rule{"cv_effect", Severity::warning, "a CV's effect leaves its range, or meets another",
         &cv_effect},
    Rule{"run_card", Severity::error, "a shipped run card is missing or cannot be read", &run_card},
    Rule{"over_budget", Severity::error, "the set is larger than the decoder", &over_budget},
    Rule{"too_few_voices", Severity::hint, "the run cards ask for more voices than there are",
         &too_few_voices},
    Rule{"no_head_room", Severity::warning, "a run card drives the mix over full scale",
         &no_head_room},
    Rule{"no_rights", Severity::warning, "a recording is used without rights on record",
         &no_rights},
    Rule{"no_decoder", Severity::hint, "no decoder is chosen", &no_decoder},
};

}  // namespace

std::span<const Rule> rules() {
  return table;
}

std::vector<Snag> run_rules(const model::Project& project, const Facts& facts) {
  std::vector<Snag> snags;
  for (const Rule& rule : table)
    rule.run(project, facts, snags);
  return snags;
}

}  // namespace fourbeat::check
