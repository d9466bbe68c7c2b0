// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

void derived_row(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::ChuffRow& row : project.chuffs.rows) {
    if (!row.derived) continue;
    out.push_back(
        {"derived_row", Severity::hint, store::pointer_of(project, row.id), label_of(row),
         fmt::format("it is made from what was recorded at {:.1f} km/h", row.derived->recorded_kmh),
         "record the engine at this speed and effort, or listen to the row"});
  }
}

}  // namespace fourbeat::check
