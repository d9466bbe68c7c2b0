// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/model/piece.h"

#include <fmt/format.h>

#include <utility>

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
    LoopWords words = loop_words(project, piece.key);
    out.push_back(
        {"lower_encoding", Severity::hint, std::move(words.pointer), std::move(words.label),
         fmt::format("its seam was signed as heard {}; it is stored at {} Hz, {} bit",
                     heard_at(*verdict), stored->second.sample_rate_hz, stored->second.bits),
         "listen to the seam as it is stored, and sign it again"});
  }
}

}  // namespace fourbeat::check
