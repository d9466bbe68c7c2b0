// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

/// The chuff that outlasts its interval the most.
struct Worst {
  int too_long = 0;  ///< how many do
  std::size_t revolution = 0;
  std::size_t position = 0;
  double length_s = 0.0;
  double interval_s = 0.0;
};

int clock_rate_hz(const model::Project& project, Id<model::Pass> id) {
  const model::Pass* pass = model::find(project, id);
  if (pass == nullptr || pass->takes.empty()) return 0;
  const model::Take* take = model::find(project, pass->takes.front().take);
  return take == nullptr ? 0 : take->sample_rate_hz;
}

Worst worst_of(const model::Project& project, const model::ChuffRow& row, double top_kmh) {
  // Every chuff begins the same time before its beat, so it must end an interval later.
  const std::vector<double> angles = model::beat_angles_deg(project.engine);
  const double turn_s = beat_interval_s(top_kmh, project.engine.driver_diameter_mm, 1.0);
  Worst worst;
  for (std::size_t r = 0; r < row.revolutions.size(); ++r) {
    const model::Revolution& revolution = row.revolutions[r];
    const int rate_hz = clock_rate_hz(project, revolution.source.pass);
    if (rate_hz <= 0) continue;
    for (std::size_t p = 0; p < revolution.chuffs.size() && p < angles.size(); ++p) {
      const double next_deg = p + 1 < angles.size() ? angles[p + 1] : angles.front() + 360.0;
      const double interval_s = turn_s * (next_deg - angles[p]) / 360.0;
      const double length_s =
          static_cast<double>(revolution.chuffs[p].range.length().value()) / rate_hz;
      if (length_s <= interval_s + 1.0 / rate_hz) continue;
      if (worst.too_long == 0 || length_s - interval_s > worst.length_s - worst.interval_s) {
        worst.revolution = r;
        worst.position = p;
        worst.length_s = length_s;
        worst.interval_s = interval_s;
      }
      ++worst.too_long;
    }
  }
  return worst;
}

}  // namespace

void chuff_too_long(const model::Project& project, const Facts& facts, Snags& out) {
  if (!facts.profile || facts.profile->chuffs_may_overlap) return;
  for (const model::ChuffRow& row : project.chuffs.rows) {
    const double top_kmh = std::min(row.to_kmh, project.engine.top_speed_kmh);
    if (!(top_kmh > 0.0)) continue;
    const Worst worst = worst_of(project, row, top_kmh);
    if (worst.too_long == 0) continue;
    out.push_back({"chuff_too_long", Severity::warning,
                   fmt::format("{}/revolutions/{}/chuffs/{}", store::pointer_of(project, row.id),
                               worst.revolution, worst.position),
                   label_of(row),
                   fmt::format("{} of its chuffs outlast the interval at {:.1f} km/h; worst, chuff "
                               "{} of revolution {}: {:.0f} ms where {:.0f} ms are free",
                               worst.too_long, top_kmh, worst.position + 1, worst.revolution + 1,
                               worst.length_s * 1000.0, worst.interval_s * 1000.0),
                   "shorten them with a fade, or split the row into narrower speed bands"});
  }
}

}  // namespace fourbeat::check
