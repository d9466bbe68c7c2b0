// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/sample_project.h"

namespace fourbeat::tests {

/// sample_project() with one of everything that makes a set live, no member left as a new value
/// has it.
inline model::Project lively_project() {
  using namespace model;
  const auto extra = [](const char* key) { return Extra{{key, R"({"z":[1,null]})"}}; };
  Project project = sample_project();
  const Id<Sound> sound(8);

  Option option;
  option.id = Id<Option>(20);
  option.name = "Pump";
  option.cv = 130;
  option.choices = {{0, "off", extra("a")}, {1, "over the exhaust", {}}};
  option.extra = extra("b");
  project.options.push_back(option);

  OwnState state;
  state.id = Id<OwnState>(21);
  state.name = "running fast";
  state.during = {State::working, State::coasting};
  state.effort = Effort::easy;
  state.from_kmh = 60.0;
  state.below_kmh = 90.0;
  state.hysteresis_kmh = 3.0;
  state.after_s = 2.0;
  state.hold_s = 5.0;
  state.extra = extra("c");
  project.states.push_back(state);

  const When when{{State::braking}, {state.id}, option.id, 1, extra("d")};

  Trigger trigger;
  trigger.id = Id<Trigger>(22);
  trigger.name = "Snifting";
  trigger.event = TriggerEvent::every;
  trigger.state = State::coasting;
  trigger.own_state = state.id;
  trigger.speed_kmh = 12.0;
  trigger.every = TimeSpan{20.0, 40.0, extra("e")};
  trigger.delay_s = 0.5;
  trigger.chance = 0.5;
  trigger.when = when;
  trigger.action = TriggerAction::swap;
  trigger.sound = sound;
  trigger.instead_of = sound;
  trigger.gain_db = -3.0;
  trigger.fade_s = 0.25;
  trigger.lasts = TimeSpan{1.0, 2.0, {}};
  trigger.holds_motion_s = 3.0;
  trigger.extra = extra("f");
  project.triggers.push_back(trigger);

  Layer layer;
  layer.id = Id<Layer>(23);
  layer.name = "Rod clank";
  layer.kind = LayerKind::wheel;
  layer.sounds = {sound};
  layer.angles_deg = {10.0, 190.0};
  layer.joint_m = 18.0;
  layer.axles_m = {0.0, 2.5};
  layer.from_kmh = 1.0;
  layer.to_kmh = 70.0;
  layer.first_turns = 4.0;
  layer.drifting_db = 3.0;
  layer.easy_db = -6.0;
  layer.hard_db = -60.0;
  layer.levels = {{10.0, -12.0, extra("g")}, {50.0, 0.0, {}}};
  layer.gain_db = -2.0;
  layer.fade_s = 0.5;
  layer.when = when;
  layer.extra = extra("h");
  project.layers.push_back(layer);

  const KeyTask tasks[] = {BrakeKey{0.5, 2.0, extra("i")},
                           DirectControlKey{0.25, {}},
                           SilenceKey{1.0, {}},
                           SoftenKey{6.0, {}},
                           ChoreKey{Chore::feed, {}},
                           EffortKey{Effort::drifting, {}},
                           OptionKey{option.id, 2, {}},
                           WakeKey{false, {}},
                           SlipKey{0.5, {}}};
  std::int64_t next = 24;
  for (const KeyTask& task : tasks) {
    Key key;
    key.id = Id<Key>(next);
    key.number = static_cast<int>(next);
    key.mode = KeyMode::momentary;
    key.when = when;
    key.by_speed = {{5.0, sound, extra("j")}, {30.0, {}, {}}};
    key.gain_db = -1.5;
    key.task = task;
    project.keys.push_back(key);
    ++next;
  }

  Cv cv;
  cv.id = Id<Cv>(next++);
  cv.number = 130;
  cv.value = 1;
  CvEffect effect;
  effect.target = CvTarget::layer_gain;
  effect.layer = layer.id;
  effect.at_0 = -40.0;
  effect.at_255 = 6.0;
  effect.extra = extra("k");
  cv.effect = effect;
  project.cvs.push_back(cv);

  project.sounds.front().retrigger = Retrigger::ignore;
  project.sounds.front().group = "whistles";

  Driving& driving = project.driving;
  driving.speed_curve = {{0.0, 0.0, extra("l")}, {255.0, 80.0, {}}};
  driving.sync = {SyncKind::sensor, 2, 5.0, 0.25, extra("m")};
  driving.cocks_open_turns = 3.0;
  driving.heavy_start_load = 0.75;
  driving.effort_hold_s = 1.0;
  driving.state_hold_s = 0.25;
  driving.drifting_without_chuffs = true;
  driving.coasts_until_braked = true;
  driving.coasting_factor = 12.0;
  driving.full_brake_s = 4.0;
  driving.power_reserve_s = 2.0;
  driving.power_fade_s = 1.0;
  driving.sleeps_after_s = 3.0;
  driving.slip = Slip{0.5, 20.0, 0.5, 1.0, 0.75, extra("n")};
  driving.extra = extra("o");

  project.duties = Duties{.on = true,
                          .start_bar = 10.0,
                          .lift_bar = 13.0,
                          .reseat_bar = 12.5,
                          .weak_bar = 7.0,
                          .stalled_bar = 3.0,
                          .heat_bar_per_min = 4.0,
                          .standing_bar_per_min = 0.5,
                          .working_bar_per_min = 3.0,
                          .valve_bar_per_min = 5.0,
                          .start_fire = 0.5,
                          .burn_per_min = 0.05,
                          .working_burn_per_min = 0.25,
                          .charge = 0.2,
                          .kindling_s = 10.0,
                          .charge_bar = 0.5,
                          .start_water = 0.6,
                          .working_water_per_min = 0.2,
                          .feed_water_per_min = 0.5,
                          .feed_bar_per_min = 2.0,
                          .low_water = 0.2,
                          .high_water = 0.9,
                          .grace_s = 20.0,
                          .relight_s = 30.0,
                          .extra = extra("p")};
  project.next_id = next;
  return project;
}

}  // namespace fourbeat::tests
