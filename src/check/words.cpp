// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules/rules_list.h"

#include "fourbeat/model/members.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <set>

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

std::vector<LoopPlace> loops_of(const model::Project& project) {
  std::vector<LoopPlace> loops;
  for (const model::Segment& segment : project.segments) {
    if (!segment.loop) continue;
    loops.push_back({segment.range, *segment.loop, store::pointer_of(project, segment.id) + "/loop",
                     label_of(segment), "segment"});
  }
  for (const model::ChuffRow& row : project.chuffs.rows) {
    if (!row.fused) continue;
    loops.push_back({row.fused->range, row.fused->loop,
                     store::pointer_of(project, row.id) + "/fused/loop", label_of(row),
                     "fused row"});
  }
  return loops;
}

std::vector<const model::Segment*> used_segments(const model::Project& project) {
  std::set<Id<model::Segment>> used;
  for (const model::Sound& sound : project.sounds) {
    for (const Id<model::Segment> id : model::segments_of(sound))
      used.insert(id);
  }
  std::vector<const model::Segment*> segments;
  for (const model::Segment& segment : project.segments) {
    if (used.count(segment.id) != 0) segments.push_back(&segment);
  }
  return segments;
}

}  // namespace fourbeat::check
