// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/model/driving_members.h"

#include <algorithm>

namespace fourbeat::check {

namespace {

/// Whether rows serve drifting at every speed, so that chuffs are heard after all.
bool rows_serve(const model::Project& project) {
  double served_kmh = 0.0;
  for (bool further = true; further && served_kmh < project.engine.top_speed_kmh;) {
    further = false;
    for (const model::ChuffRow& row : project.chuffs.rows) {
      if (row.effort != model::Effort::drifting || row.condition != model::Condition::normal ||
          row.from_kmh > served_kmh || row.to_kmh <= served_kmh)
        continue;
      served_kmh = row.to_kmh;
      further = true;
    }
  }
  return served_kmh >= project.engine.top_speed_kmh;
}

bool under_way(model::State state) {
  return state == model::State::starting || state == model::State::working ||
         state == model::State::coasting || state == model::State::braking ||
         state == model::State::stopping;
}

bool sounds_in_drifting(const model::Project& project, const model::Layer& layer) {
  const double silent_db = model::level_rule.low;
  if (layer.sounds.empty() || layer.drifting_db <= silent_db || layer.gain_db <= silent_db ||
      layer.from_kmh >= project.engine.top_speed_kmh) {
    return false;
  }
  const model::When& when = layer.when;
  return when.states.empty() || !when.own_states.empty() ||
         std::any_of(when.states.begin(), when.states.end(), under_way);
}

}  // namespace

void layers_for_drifting(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  if (!project.driving.drifting_without_chuffs || rows_serve(project)) return;
  if (std::any_of(project.layers.begin(), project.layers.end(),
                  [&](const model::Layer& layer) { return sounds_in_drifting(project, layer); })) {
    return;
  }
  out.push_back({"layers_for_drifting", Severity::warning, "/driving/drifting_without_chuffs",
                 set_label, "drifting is left to the layers, and none is heard in it",
                 "add a layer for drifting, or let rows of another effort serve it"});
}

}  // namespace fourbeat::check
