// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/chuff_table.h"
#include "fourbeat/model/driving.h"
#include "fourbeat/model/duties.h"
#include "fourbeat/model/engine.h"
#include "fourbeat/model/key_map.h"
#include "fourbeat/model/layer.h"
#include "fourbeat/model/option.h"
#include "fourbeat/model/sound.h"
#include "fourbeat/model/speaker.h"
#include "fourbeat/model/state.h"
#include "fourbeat/model/take.h"
#include "fourbeat/model/trigger.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::model {

/// A whole project as a plain value. It holds ids, hashes and ranges, never samples.
struct Project {
  std::string title;
  std::string author;
  std::string date;                ///< yyyy-mm-dd or ""; outputs carry this date and no other
  std::string decoder;             ///< id of the decoder profile, "" while none is chosen
  std::optional<Speaker> speaker;  ///< what the set will be heard from, when one is chosen
  std::string user_notes;          ///< the designer's own words for the buyer, Markdown
  Engine engine;
  std::vector<Take> takes;
  std::vector<Pass> passes;
  std::vector<Mark> marks;
  std::vector<Segment> segments;
  std::vector<Sound> sounds;
  ChuffTable chuffs;
  std::vector<Key> keys;
  std::vector<OwnState> states;
  std::vector<Trigger> triggers;
  std::vector<Layer> layers;
  std::vector<Option> options;
  std::vector<Cv> cvs;
  Driving driving;
  std::optional<Duties> duties;  ///< none: the set has no duties
  std::vector<Verdict> verdicts;
  std::vector<std::string> run_cards;  ///< shipped run cards: relative paths, as Take::path
  std::int64_t next_id = 1;            ///< the next id to give out; only ever grows
  Extra extra;
  bool operator==(const Project&) const = default;
};

/// The entity of an id, or null: a missing id is a normal answer.
[[nodiscard]] const Take* find(const Project& project, Id<Take> id);
[[nodiscard]] const Pass* find(const Project& project, Id<Pass> id);
[[nodiscard]] const Mark* find(const Project& project, Id<Mark> id);
[[nodiscard]] const Segment* find(const Project& project, Id<Segment> id);
[[nodiscard]] const Sound* find(const Project& project, Id<Sound> id);
[[nodiscard]] const ChuffRow* find(const Project& project, Id<ChuffRow> id);
[[nodiscard]] const Key* find(const Project& project, Id<Key> id);
[[nodiscard]] const OwnState* find(const Project& project, Id<OwnState> id);
[[nodiscard]] const Trigger* find(const Project& project, Id<Trigger> id);
[[nodiscard]] const Layer* find(const Project& project, Id<Layer> id);
[[nodiscard]] const Option* find(const Project& project, Id<Option> id);
[[nodiscard]] const Cv* find(const Project& project, Id<Cv> id);
[[nodiscard]] const Verdict* find(const Project& project, Id<Verdict> id);

/// The pass that a take belongs to, or null.
[[nodiscard]] const Pass* pass_of(const Project& project, Id<Take> take);

}  // namespace fourbeat::model
