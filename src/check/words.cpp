// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules/rules_list.h"

#include "fourbeat/model/members.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

std::string label_of(const model::Take& take) {
  return fmt::format("take “{}”", take.path);
}
std::string label_of(const model::Pass& pass) {
  return fmt::format("pass “{}”", pass.name);
}
std::string label_of(const model::Segment& segment) {
  return fmt::format("segment “{}”", segment.name);
}
std::string label_of(const model::Sound& sound) {
  return fmt::format("sound “{}”", sound.name);
}
std::string label_of(const model::ChuffRow& row) {
  std::string effort(model::word_of(row.effort));
  if (row.condition != model::Condition::normal) {
    effort += fmt::format(", {}", model::word_of(row.condition));
  }
  return fmt::format("chuff row {}, {:.1f} to {:.1f} km/h", effort, row.from_kmh, row.to_kmh);
}
std::string label_of(const model::Key& key) {
  return key.label.empty() ? fmt::format("key F{}", key.number)
                           : fmt::format("key F{} “{}”", key.number, key.label);
}
std::string label_of(const model::Cv& cv) {
  return cv.name.empty() ? fmt::format("CV{}", cv.number)
                         : fmt::format("CV{} “{}”", cv.number, cv.name);
}
std::string label_of(const model::OwnState& state) {
  return fmt::format("state “{}”", state.name);
}
std::string label_of(const model::Trigger& trigger) {
  return fmt::format("trigger “{}”", trigger.name);
}
std::string label_of(const model::Layer& layer) {
  return fmt::format("layer “{}”", layer.name);
}
std::string label_of(const model::Option& option) {
  return fmt::format("option “{}”", option.name);
}

LoopWords loop_words(const model::Project& project, const model::Segment& segment) {
  return {store::pointer_of(project, segment.id) + "/loop", label_of(segment)};
}
LoopWords loop_words(const model::Project& project, const model::ChuffRow& row) {
  return {store::pointer_of(project, row.id) + "/fused/loop", label_of(row)};
}
LoopWords loop_words(const model::Project& project, const model::PieceKey& key) {
  if (const model::ChuffRow* row = model::find(project, key.row)) return loop_words(project, *row);
  const model::Segment* segment = model::find(project, key.segment);
  return segment != nullptr ? loop_words(project, *segment) : LoopWords{};
}

std::vector<LoopPlace> loops_of(const model::Project& project) {
  std::vector<LoopPlace> loops;
  for (const model::Segment& segment : project.segments) {
    if (!segment.loop) continue;
    loops.push_back({segment.range, *segment.loop, loop_words(project, segment), "segment"});
  }
  for (const model::ChuffRow& row : project.chuffs.rows) {
    if (!row.fused) continue;
    loops.push_back({row.fused->range, row.fused->loop, loop_words(project, row), "fused row"});
  }
  return loops;
}

}  // namespace fourbeat::check
