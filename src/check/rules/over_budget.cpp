// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <fmt/format.h>

namespace fourbeat::check {

void over_budget(const model::Project& project, const Facts& facts, Snags& out) {
  if (!facts.profile) return;
  const std::size_t pieces = model::list_pieces(project).size();
  if (std::cmp_greater(pieces, facts.profile->max_sounds)) {
    out.push_back({"over_budget", Severity::error, "/decoder", set_label,
                   fmt::format("it has {} pieces of sound, the decoder stores {}", pieces,
                               facts.profile->max_sounds),
                   "leave out sounds or chuff rows, or choose a larger decoder"});
  }
  if (facts.bytes_used && *facts.bytes_used > facts.profile->memory_bytes) {
    out.push_back({"over_budget", Severity::error, "/decoder", set_label,
                   fmt::format("it takes {} bytes at its smallest, the decoder holds {}",
                               *facts.bytes_used, facts.profile->memory_bytes),
                   "leave out sounds, shorten segments, or choose a larger decoder"});
  }
}

}  // namespace fourbeat::check
