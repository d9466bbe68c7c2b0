// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <set>

namespace fourbeat::check {

void no_rights(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  std::set<Id<model::Pass>> used;
  for (const model::Piece& piece : model::list_pieces(project))
    used.insert(piece.source.pass);
  for (const model::Pass& pass : project.passes) {
    if (used.count(pass.id) == 0) continue;
    std::string message;
    if (!pass.rights || pass.rights->owner.empty()) {
      message = "the set uses it, and nobody's permission is on record";
    } else if (!pass.rights->until.empty() && !project.date.empty() &&
               pass.rights->until < project.date) {
      // Dates are yyyy-mm-dd, so their order is that of the text.
      message = fmt::format("the permission ended on {}, before the set's date of {}",
                            pass.rights->until, project.date);
    } else {
      continue;
    }
    out.push_back({"no_rights", Severity::warning, store::pointer_of(project, pass.id),
                   label_of(pass), std::move(message),
                   "record whose engine it is, what for, and until when"});
  }
}

}  // namespace fourbeat::check
