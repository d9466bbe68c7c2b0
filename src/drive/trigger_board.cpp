// SPDX-License-Identifier: GPL-3.0-or-later
#include "trigger_board.h"

#include <algorithm>

namespace fourbeat::drive {

namespace {

// How far back a speed must go before it can be crossed again.
constexpr double slack_kmh = 1.0;

/// Told when the engine's sound ends: heard though nothing else is begun any more.
bool says_farewell(model::TriggerEvent event) noexcept {
  return event == model::TriggerEvent::sound_off || event == model::TriggerEvent::power_off;
}

}  // namespace

TriggerBoard::TriggerBoard(const CompiledSet& set, std::uint64_t seed)
    : set_(set), random_(seed), runs_(set.triggers.size()) {}

void TriggerBoard::wait(std::int64_t frame, std::size_t trigger, Deed deed) noexcept {
  for (Waiting& slot : waiting_) {
    if (slot.frame != none) continue;
    slot = {frame, static_cast<int>(trigger), deed};
    next_ = std::min(next_, frame);
    return;
  }
}

void TriggerBoard::drop_ends(std::size_t trigger) noexcept {
  for (Waiting& slot : waiting_) {
    if (slot.trigger == static_cast<int>(trigger) && slot.deed == Deed::end) slot = {};
  }
}

void TriggerBoard::forget() noexcept {
  waiting_.fill({});
  next_ = never;
  for (Run& run : runs_) {
    run.next = none;
    run.asked = false;
  }
}

void TriggerBoard::set_off(std::size_t index, const LayerScene& scene, const Tuning& tuning,
                           const CvBank& cvs) noexcept {
  const ImageTrigger& trigger = set_.triggers[index];
  if (!in_force(trigger.when, scene.state, scene.own_states, cvs)) return;
  // Drawn at every event, so that one trigger's luck is not another's.
  if (random_.uniform() >= trigger.chance) return;
  const std::int64_t due = scene.now.frame + frames(tuning.triggers[index].delay_s);
  wait(due, index, Deed::act);
  if (trigger.event == model::TriggerEvent::leaving_rest && trigger.holds_motion_s > 0.0) {
    runs_[index].asked = true;
    runs_[index].heard = false;
    runs_[index].until = due + frames(trigger.holds_motion_s);
  }
}

void TriggerBoard::tell(model::TriggerEvent event, const LayerScene& scene, const Tuning& tuning,
                        const CvBank& cvs) noexcept {
  if (!scene.audible && !says_farewell(event)) return;
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    if (set_.triggers[i].event == event) set_off(i, scene, tuning, cvs);
  }
}

bool TriggerBoard::crossed(std::size_t index, double speed_kmh) noexcept {
  const ImageTrigger& trigger = set_.triggers[index];
  Run& run = runs_[index];
  const double before = run.speed_kmh;
  run.speed_kmh = speed_kmh;
  const bool rises = trigger.event == model::TriggerEvent::speed_rises;
  const double edge = trigger.speed_kmh;
  if (!run.armed) {
    const double back = rises ? edge - speed_kmh : speed_kmh - edge;
    // An edge near rest is left behind at rest.
    run.armed = back >= std::min(slack_kmh, rises ? edge : slack_kmh);
    return false;
  }
  const bool through =
      rises ? before < edge && speed_kmh >= edge : before > edge && speed_kmh <= edge;
  if (through) run.armed = false;
  return through;
}

void TriggerBoard::update(const LayerScene& scene, const Tuning& tuning,
                          const CvBank& cvs) noexcept {
  using model::TriggerEvent;
  const bool moved = begun_ && scene.state != state_;
  const std::uint64_t entered = scene.own_states & ~own_states_;
  const std::uint64_t left = own_states_ & ~scene.own_states;
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    const ImageTrigger& trigger = set_.triggers[i];
    Run& run = runs_[i];
    const auto of = [&](std::uint64_t own, bool base) {
      if (trigger.own_state == none) return base;
      return (own & (std::uint64_t{1} << static_cast<unsigned>(trigger.own_state))) != 0;
    };
    bool comes = false;
    switch (trigger.event) {
      case TriggerEvent::state_entered:
        comes = of(entered, (moved || !begun_) && scene.state == trigger.state);
        break;
      case TriggerEvent::state_left:
        comes = of(left, moved && state_ == trigger.state);
        break;
      case TriggerEvent::speed_rises:
      case TriggerEvent::speed_falls:
        comes = crossed(i, scene.now.speed_kmh);
        break;
      case TriggerEvent::every:
        if (!scene.audible || !in_force(trigger.when, scene.state, scene.own_states, cvs)) {
          run.next = none;
          break;
        }
        comes = run.next != none && run.next <= scene.now.frame;
        if (comes || run.next == none) {
          const TriggerTimes& times = tuning.triggers[i];
          run.next =
              scene.now.frame + frames(random_.uniform(times.every_from_s, times.every_to_s));
        }
        break;
      default:
        break;
    }
    if (comes && scene.audible) set_off(i, scene, tuning, cvs);
  }
  begun_ = true;
  state_ = scene.state;
  own_states_ = scene.own_states;
}

void TriggerBoard::stop_sound(std::int64_t frame, int sound, double fade_s, float rho,
                              SoundPlayer& player) noexcept {
  for (std::size_t i = 0; i < set_.uses.size(); ++i) {
    const ImageUse& use = set_.uses[i];
    if (use.sound != sound || use.reason != Reason::trigger) continue;
    const int index = static_cast<int>(i);
    if (fade_s > 0.0) {
      player.fade_out(frame, index, Fade{std::max(1, static_cast<int>(frames(fade_s))), 0, rho});
    } else {
      player.stop(frame, index);
    }
  }
}

void TriggerBoard::perform(std::int64_t frame, std::size_t index, bool audible,
                           SoundPlayer& player) noexcept {
  using model::TriggerAction;
  const ImageTrigger& trigger = set_.triggers[index];
  if (trigger.action == TriggerAction::stop) {
    stop_sound(frame, trigger.sound, trigger.fade_s, 1.0F, player);
    return;
  }
  const auto fade_frames = static_cast<int>(frames(trigger.fade_s));
  if (trigger.action == TriggerAction::swap) {
    stop_sound(frame, trigger.instead_of, trigger.fade_s, 0.0F, player);
  }
  Run& run = runs_[index];
  if (trigger.use == none || (!audible && !says_farewell(trigger.event))) {
    run.asked = false;
    return;
  }
  const Fade in = trigger.action == TriggerAction::swap && fade_frames > 0
                      ? Fade{fade_frames, 0, 0.0F}
                      : Fade{};
  const bool begun = player.start(frame, trigger.use, in);
  run.heard = begun;
  if (!begun) run.asked = false;
  if (begun) drop_ends(index);
  if (begun && trigger.lasts) {
    wait(frame + frames(random_.uniform(trigger.lasts_from_s, trigger.lasts_to_s)), index,
         Deed::end);
  }
}

void TriggerBoard::act(std::int64_t frame, bool audible, SoundPlayer& player) noexcept {
  if (frame < next_) return;
  for (Waiting& slot : waiting_) {
    if (slot.frame == none || slot.frame > frame) continue;
    const Waiting due = slot;
    slot = {};
    const auto index = static_cast<std::size_t>(due.trigger);
    if (due.deed == Deed::end) {
      player.stop(frame, set_.triggers[index].use);
    } else {
      perform(frame, index, audible, player);
    }
  }
  next_ = never;
  for (const Waiting& slot : waiting_) {
    if (slot.frame != none) next_ = std::min(next_, slot.frame);
  }
}

bool TriggerBoard::holds_motion(std::int64_t frame, SoundPlayer& player) noexcept {
  bool held = false;
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    Run& run = runs_[i];
    if (!run.asked) continue;
    if (frame >= run.until || (run.heard && !player.sounds(set_.triggers[i].use))) {
      run.asked = false;
    } else {
      held = true;
    }
  }
  return held;
}

}  // namespace fourbeat::drive
