// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

std::string heard_at(const model::Verdict& verdict) {
  if (verdict.sample_rate_hz == 0) return "as recorded";
  return fmt::format("at {} Hz, {} bit", verdict.sample_rate_hz, verdict.bits);
}

}  // namespace

void lower_encoding(const model::Project& project, const Facts& facts, Snags& out) {
  for (const model::Piece& piece : model::looped_pieces(project)) {
    const auto stored = facts.stored.find(piece.key);
    const model::Verdict* verdict = model::verdict_in_force(project, piece);
    if (stored == facts.stored.end() || verdict == nullptr ||
        verdict->kind != model::VerdictKind::signed_off ||
        !model::is_above(*verdict, stored->second.sample_rate_hz, stored->second.bits)) {
      continue;
    }
    const model::ChuffRow* row = model::find(project, piece.key.row);
    const model::Segment* segment = model::find(project, piece.key.segment);
    out.push_back(
        {"lower_encoding", Severity::hint,
         row != nullptr ? store::pointer_of(project, row->id) + "/fused/loop"
                        : store::pointer_of(project, piece.key.segment) + "/loop",
         row != nullptr ? label_of(*row) : label_of(*segment),
         fmt::format("its seam was signed as heard {}; it is stored at {} Hz, {} bit",
                     heard_at(*verdict), stored->second.sample_rate_hz, stored->second.bits),
         "listen to the seam as it is stored, and sign it again"});
  }
}

}  // namespace fourbeat::check
