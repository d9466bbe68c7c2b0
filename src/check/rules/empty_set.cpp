// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

namespace fourbeat::check {

void empty_set(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  if (!model::list_pieces(project).empty()) return;
  out.push_back({"empty_set", Severity::hint, "/sounds", set_label, "it has nothing to play yet",
                 "cut segments and make sounds of them, or build a chuff table"});
}

}  // namespace fourbeat::check
