// SPDX-License-Identifier: GPL-3.0-or-later
#include "living_twin.h"

namespace fourbeat::tests {

using namespace model;

LivingTwin everything_twin() {
  LivingTwin twin;
  twin.profile.voices = 4;
  twin.set_cv(3, 6);
  twin.set_cv(4, 8);
  for (const Effort effort : {Effort::easy, Effort::hard}) {
    twin.add_row(0, 30, effort, 2, sine(2205, true, true));
    twin.add_row(30, 120, effort, 1, sine(1102, true, true));
  }
  const Id<Sound> tone = twin.add_held(twin.add_segment(clip_of(sine(2205, true, false))),
                                       twin.add_segment(sine_hold()), {}, 40);
  const Id<Sound> held = twin.add_held(twin.add_segment(clip_of(sine(4410, true, false))),
                                       twin.add_segment(sine_hold()),
                                       twin.add_segment(clip_of(sine(4410, false, true))), 60);
  const Id<Sound> shot = twin.add_shot(clip_of(sine(8820, true, true)), 30);
  const Id<Sound> clank = twin.add_shot(clip_of(sine(1323, true, true)), 20);

  OwnState fast;
  fast.name = "fast";
  fast.from_kmh = 15.0;
  fast.after_s = 0.25;
  const Id<OwnState> fast_id = twin.add_state(fast);
  Option option;
  option.name = "pump";
  option.cv = 120;
  option.choices = {{0, "off", {}}, {1, "on", {}}};
  const Id<Option> pump = twin.add_option(option);
  twin.set_cv(120, 1);

  Layer bed;
  bed.sounds = {tone};
  bed.when.states = {State::standing, State::coasting};
  bed.fade_s = 0.05;
  twin.add_layer(bed);
  Layer rods;
  rods.kind = LayerKind::wheel;
  rods.sounds = {clank, shot};
  rods.angles_deg = {20.0, 200.0};
  rods.hard_db = -20.0;
  rods.easy_db = -6.0;
  rods.levels = {{10.0, -12.0, {}}, {60.0, 0.0, {}}};
  twin.add_layer(rods);
  Layer joints;
  joints.kind = LayerKind::distance;
  joints.sounds = {clank};
  joints.joint_m = 18.0;
  joints.axles_m = {0.0, 2.5, 5.0};
  joints.from_kmh = 5.0;
  joints.when.option = pump;
  joints.when.option_value = 1;
  twin.add_layer(joints);

  Trigger leave = start_on(TriggerEvent::leaving_rest, shot);
  leave.holds_motion_s = 0.5;
  twin.add_trigger(leave);
  Trigger snift = start_on(TriggerEvent::regulator_closed, held);
  snift.lasts = TimeSpan{0.3, 0.6, {}};
  snift.delay_s = 0.01;
  twin.add_trigger(snift);
  Trigger enter = start_on(TriggerEvent::state_entered, tone);
  enter.own_state = fast_id;
  twin.add_trigger(enter);
  Trigger stop = enter;
  stop.event = TriggerEvent::state_left;
  stop.action = TriggerAction::stop;
  stop.fade_s = 0.05;
  twin.add_trigger(stop);
  Trigger swap = start_on(TriggerEvent::at_rest, tone);
  swap.action = TriggerAction::swap;
  swap.instead_of = held;
  swap.fade_s = 0.05;
  swap.lasts = TimeSpan{0.2, 0.4, {}};
  twin.add_trigger(swap);
  Trigger valve = start_on(TriggerEvent::every, held);
  valve.every = TimeSpan{2.0, 4.0, {}};
  valve.lasts = TimeSpan{0.5, 1.0, {}};
  valve.chance = 0.7;
  twin.add_trigger(valve);
  for (const TriggerEvent event :
       {TriggerEvent::reversing, TriggerEvent::sound_on, TriggerEvent::sound_off,
        TriggerEvent::power_off, TriggerEvent::power_on, TriggerEvent::slips,
        TriggerEvent::blows_off, TriggerEvent::speed_rises}) {
    Trigger trigger = start_on(event, shot);
    trigger.speed_kmh = 20.0;
    twin.add_trigger(trigger);
  }

  Key whistle;
  whistle.number = 1;
  whistle.sound = held;
  whistle.by_speed = {{20.0, tone, {}}};
  twin.add(twin.project.keys, whistle);
  twin.add_task(2, BrakeKey{0.8, 0.5, {}});
  twin.add_task(3, DirectControlKey{});
  twin.add_task(4, SilenceKey{0.1, {}});
  twin.add_task(5, SoftenKey{});
  twin.add_task(6, ChoreKey{Chore::fire, {}});
  twin.add_task(7, ChoreKey{Chore::feed, {}});
  twin.add_task(8, EffortKey{Effort::hard, {}});
  twin.add_task(9, OptionKey{pump, 0, {}});
  twin.add_task(10, WakeKey{false, {}});
  twin.add_task(11, SlipKey{}, shot);

  CvEffect effect;
  effect.target = CvTarget::set_gain;
  effect.at_0 = -20.0;
  twin.add_effect(121, 255, effect);
  twin.project.driving.slip = Slip{0.5, 20.0, 0.3, 0.3, 0.3, {}};
  twin.project.driving.coasts_until_braked = true;
  twin.project.driving.coasting_factor = 3.0;
  twin.project.driving.sleeps_after_s = 0.5;
  twin.project.driving.power_reserve_s = 0.2;
  twin.project.duties = Duties{};
  twin.project.duties->on = true;
  return twin;
}

}  // namespace fourbeat::tests
