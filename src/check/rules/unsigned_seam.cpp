// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

void tell(const model::Verdict* verdict, std::string pointer, std::string label, Snags& out) {
  if (verdict != nullptr && verdict->kind == model::VerdictKind::signed_off) return;
  out.push_back({"unsigned_seam", Severity::warning, std::move(pointer), std::move(label),
                 verdict == nullptr ? "nobody has signed its seam off as it is now"
                                    : "its seam was listened to and rejected",
                 "listen to the seam and sign it, or take another loop"});
}

}  // namespace

void unsigned_seam(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Segment* segment : used_segments(project)) {
    if (!segment->loop) continue;
    tell(model::verdict_in_force(project, *segment),
         store::pointer_of(project, segment->id) + "/loop", label_of(*segment), out);
  }
  for (const model::Piece& piece : model::looped_pieces(project)) {
    const model::ChuffRow* row = model::find(project, piece.key.row);
    if (row == nullptr) continue;
    tell(model::verdict_in_force(project, piece),
         store::pointer_of(project, row->id) + "/fused/loop", label_of(*row), out);
  }
}

}  // namespace fourbeat::check
