// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

void speed_gap_in_variants(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  const double top_kmh = project.engine.top_speed_kmh;
  for (const model::Key& key : project.keys) {
    for (std::size_t i = 0; i < key.by_speed.size(); ++i) {
      if (key.by_speed[i].from_kmh <= top_kmh) continue;
      out.push_back({"speed_gap_in_variants", Severity::hint,
                     fmt::format("{}/by_speed/{}/from_kmh", store::pointer_of(project, key.id), i),
                     label_of(key),
                     fmt::format("its sound from {:.1f} km/h is never heard: the engine runs up to "
                                 "{:.1f} km/h",
                                 key.by_speed[i].from_kmh, top_kmh),
                     "let it serve from a lower speed, or remove it"});
    }
  }
}

}  // namespace fourbeat::check
