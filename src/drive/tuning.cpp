// SPDX-License-Identifier: GPL-3.0-or-later
#include "tuning.h"

#include "fourbeat/model/cv_targets.h"

#include <algorithm>

namespace fourbeat::drive {

Tuning::Tuning(const CompiledSet& set)
    : sound_gain_db(set.sounds, 0.0),
      layer_gain_db(set.layers.size(), 0.0),
      states(set.own_states),
      triggers(set.trigger_times),
      sync_error_percent(set.driving.sync.error_percent),
      row_delay_s(set.driving.sync.row_delay_s),
      full_brake_s(set.driving.full_brake_s),
      coasting_factor(set.driving.coasting_factor),
      cocks_open_turns(set.driving.cocks_open_turns),
      duties_on(set.duties && set.duties->on),
      set_(set) {
  for (const ImageEffect& effect : set.effects) {
    if (const auto value = set.cvs.get(effect.cv)) take(effect.cv, *value);
  }
}

bool Tuning::take(int cv, int value) noexcept {
  bool changed = false;
  for (const ImageEffect& effect : set_.effects) {
    if (effect.cv != cv) continue;
    apply(effect, model::cv_figure(effect.at_0, effect.at_255, value, effect.low, effect.high));
    changed = true;
  }
  return changed;
}

void Tuning::apply(const ImageEffect& effect, double figure) noexcept {
  const auto index = static_cast<std::size_t>(std::max(effect.index, 0));
  switch (effect.target) {
    case model::CvTarget::set_gain:
      set_gain_db = figure;
      break;
    case model::CvTarget::chuff_gain:
      chuff_gain_db = figure;
      break;
    case model::CvTarget::sound_gain:
      sound_gain_db[index] = figure;
      break;
    case model::CvTarget::layer_gain:
      layer_gain_db[index] = figure;
      break;
    case model::CvTarget::state_speed:
      (states[index].from_kmh ? states[index].from_kmh : states[index].below_kmh) = figure;
      break;
    case model::CvTarget::state_time:
      states[index].after_s = figure;
      break;
    case model::CvTarget::trigger_time: {
      TriggerTimes& times = triggers[index];
      if (!set_.triggers[index].every) {
        times.delay_s = figure;
        break;
      }
      // The longest moves with the shortest.
      const double more = times.every_to_s - times.every_from_s;
      times.every_from_s = figure;
      times.every_to_s = times.every_from_s + more;
      break;
    }
    case model::CvTarget::sync_error:
      sync_error_percent = figure;
      break;
    case model::CvTarget::row_delay:
      row_delay_s = figure;
      break;
    case model::CvTarget::full_brake:
      full_brake_s = figure;
      break;
    case model::CvTarget::coasting:
      coasting_factor = figure;
      break;
    case model::CvTarget::cocks_open:
      cocks_open_turns = figure;
      break;
    case model::CvTarget::duties:
      duties_on = set_.duties && figure >= 0.5;
      break;
    case model::CvTarget::duty_pace:
      duty_pace = figure;
      break;
  }
}

}  // namespace fourbeat::drive
