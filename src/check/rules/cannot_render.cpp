// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

/// True when one of the recordings is known to be absent: missing_take tells of that.
bool lacks_take(const Facts& facts, const model::Source& source) {
  for (const model::MixInput& input : source.mix) {
    for (const store::TakeStatus& status : facts.takes) {
      if (status.take == input.take && status.state != store::TakeState::present) return true;
    }
  }
  return false;
}

}  // namespace

void cannot_render(const model::Project& project, const Facts& facts, Snags& out) {
  for (const model::Segment& segment : project.segments) {
    const auto error = facts.render_errors.find(segment.id);
    if (error == facts.render_errors.end() || lacks_take(facts, segment.source)) continue;
    out.push_back({"cannot_render", Severity::error, store::pointer_of(project, segment.id),
                   label_of(segment), to_line(error->second), "mend its range, mix or loop"});
  }
  for (const model::ChuffRow& row : project.chuffs.rows) {
    const auto error = facts.chuff_errors.find(row.id);
    if (error == facts.chuff_errors.end()) continue;
    bool absent = row.fused && lacks_take(facts, row.fused->source);
    for (const model::Revolution& revolution : row.revolutions)
      absent = absent || lacks_take(facts, revolution.source);
    if (absent) continue;
    out.push_back({"cannot_render", Severity::error, store::pointer_of(project, row.id),
                   label_of(row), to_line(error->second), "build the row again from its take"});
  }
}

}  // namespace fourbeat::check
