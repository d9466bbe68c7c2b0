// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <algorithm>

namespace fourbeat::check {

namespace {

constexpr double speed_tolerance_kmh = 0.05;  ///< bounds closer than this count as met

void tell(const model::Project& project, const model::ChuffRow& row, Severity severity,
          std::string message, const char* mend, Snags& out) {
  out.push_back({"chuff_row_gaps", severity, store::pointer_of(project, row.id), label_of(row),
                 std::move(message), mend});
}

/// The rows of one effort and condition, from rest to the top speed; those of another condition
/// than normal need not reach it, as the normal ones serve above.
void check_bands(const model::Project& project, model::Effort effort, model::Condition condition,
                 Snags& out) {
  std::vector<const model::ChuffRow*> rows;
  for (const model::ChuffRow& row : project.chuffs.rows) {
    if (row.effort != effort || row.condition != condition) continue;
    if (row.to_kmh > row.from_kmh) {
      rows.push_back(&row);
    } else {
      tell(project, row, Severity::error, "it ends where it starts, or before",
           "give it a speed band", out);
    }
  }
  if (rows.empty()) return;
  std::stable_sort(rows.begin(), rows.end(),
                   [](const auto* a, const auto* b) { return a->from_kmh < b->from_kmh; });
  double reached_kmh = 0.0;
  for (const model::ChuffRow* row : rows) {
    if (row->from_kmh > reached_kmh + speed_tolerance_kmh) {
      tell(project, *row, Severity::warning,
           fmt::format("no row from {:.1f} to {:.1f} km/h", reached_kmh, row->from_kmh),
           "widen a neighbouring row, or record that speed", out);
    } else if (row->from_kmh < reached_kmh - speed_tolerance_kmh) {
      tell(project, *row, Severity::error,
           fmt::format("it overlaps another row from {:.1f} to {:.1f} km/h", row->from_kmh,
                       std::min(reached_kmh, row->to_kmh)),
           "move the bound between the two rows", out);
    }
    reached_kmh = std::max(reached_kmh, row->to_kmh);
  }
  if (condition == model::Condition::normal &&
      reached_kmh < project.engine.top_speed_kmh - speed_tolerance_kmh) {
    tell(project, *rows.back(), Severity::warning,
         fmt::format("no row from {:.1f} km/h to the top speed of {:.1f} km/h", reached_kmh,
                     project.engine.top_speed_kmh),
         "widen the last row, or record that speed", out);
  }
}

void check_revolutions(const model::Project& project, const model::ChuffRow& row, Snags& out) {
  if (row.revolutions.empty() && !row.fused) {
    tell(project, row, Severity::error, "it holds no revolution",
         "build the row again from its take, or remove it", out);
  }
  for (std::size_t i = 0; i < row.revolutions.size(); ++i) {
    const std::size_t chuffs = row.revolutions[i].chuffs.size();
    if (std::cmp_equal(chuffs, project.engine.beats_per_rev)) continue;
    tell(project, row, Severity::error,
         fmt::format("revolution {} holds {} chuffs, the engine gives {} beats a turn", i + 1,
                     chuffs, project.engine.beats_per_rev),
         "build the row again from its take", out);
  }
}

}  // namespace

void chuff_row_gaps(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Effort effort :
       {model::Effort::drifting, model::Effort::easy, model::Effort::hard}) {
    for (const model::Condition condition :
         {model::Condition::normal, model::Condition::cocks_open, model::Condition::heavy_start,
          model::Condition::slip}) {
      check_bands(project, effort, condition, out);
    }
  }
  for (const model::ChuffRow& row : project.chuffs.rows)
    check_revolutions(project, row, out);
}

}  // namespace fourbeat::check
