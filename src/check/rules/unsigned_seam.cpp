// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/model/piece.h"

#include <utility>

namespace fourbeat::check {

void unsigned_seam(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Piece& piece : model::looped_pieces(project)) {
    const model::Verdict* verdict = model::verdict_in_force(project, piece);
    if (verdict != nullptr && verdict->kind == model::VerdictKind::signed_off) continue;
    LoopWords words = loop_words(project, piece.key);
    out.push_back({"unsigned_seam", Severity::warning, std::move(words.pointer),
                   std::move(words.label),
                   verdict == nullptr ? "nobody has signed its seam off as it is now"
                                      : "its seam was listened to and rejected",
                   "listen to the seam and sign it, or take another loop"});
  }
}

}  // namespace fourbeat::check
