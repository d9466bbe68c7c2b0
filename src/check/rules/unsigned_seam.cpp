// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

void unsigned_seam(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Segment* segment : used_segments(project)) {
    if (!segment->loop) continue;
    const model::Verdict* verdict = model::verdict_in_force(project, *segment);
    if (verdict != nullptr && verdict->kind == model::VerdictKind::signed_off) continue;
    out.push_back({"unsigned_seam", Severity::warning,
                   store::pointer_of(project, segment->id) + "/loop", label_of(*segment),
                   verdict == nullptr ? "nobody has signed its seam off as it is now"
                                      : "its seam was listened to and rejected",
                   "listen to the seam and sign it, or take another loop"});
  }
}

}  // namespace fourbeat::check
