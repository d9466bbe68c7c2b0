// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/driving_members.h"
#include "fourbeat/model/project.h"

#include <algorithm>
#include <type_traits>

/// What a CV's effect may make of its target: the one place of these ranges, which are those of
/// the members that a target stands for.

namespace fourbeat::model {

/// The rule of one member of a value.
template <class Owner, class Value>
[[nodiscard]] constexpr MemberRule rule_of(Value Owner::*at) {
  MemberRule found;
  first_of_members<Owner>([&](const auto& member) {
    if constexpr (std::is_same_v<decltype(member.at), Value Owner::*>) {
      if (member.at == at) found = member.rule;
      return member.at == at;
    } else {
      return false;
    }
  });
  return found;
}

/// How many times as fast duties may run; ours.
inline constexpr MemberRule duty_pace_rule = between(0.1, 20);

/// What a target may be, low to high; in the target's own unit (see CvTarget). trigger_time: of the
/// trigger that the effect names, so the project is asked which event sets it off.
[[nodiscard]] constexpr MemberRule range_of(CvTarget target) {
  switch (target) {
    case CvTarget::set_gain:
    case CvTarget::chuff_gain:
    case CvTarget::sound_gain:
    case CvTarget::layer_gain:
      return level_rule;
    case CvTarget::state_speed:
      return rule_of(&OwnState::from_kmh);
    case CvTarget::state_time:
      return rule_of(&OwnState::after_s);
    case CvTarget::trigger_time:
      return rule_of(&Trigger::delay_s);
    case CvTarget::sync_error:
      return rule_of(&Synchronisation::error_percent);
    case CvTarget::row_delay:
      return rule_of(&Synchronisation::row_delay_s);
    case CvTarget::full_brake:
      return rule_of(&Driving::full_brake_s);
    case CvTarget::coasting:
      return rule_of(&Driving::coasting_factor);
    case CvTarget::cocks_open:
      return rule_of(&Driving::cocks_open_turns);
    case CvTarget::duties:
      return share_rule;
    case CvTarget::duty_pace:
      return duty_pace_rule;
  }
  return free_rule;
}

/// range_of() an effect's target in a project.
[[nodiscard]] inline MemberRule range_of(const Project& project, const CvEffect& effect) {
  if (effect.target == CvTarget::trigger_time) {
    const Trigger* trigger = find(project, effect.trigger);
    if (trigger != nullptr && trigger->event == TriggerEvent::every) {
      return between(shortest_every_s, rule_of(&TimeSpan::from_s).high);
    }
  }
  return range_of(effect.target);
}

/// The figure that a CV's value, 0 to 255, stands for: straight from at_0 to at_255, held to `low`
/// and `high` (those of range_of()).
[[nodiscard]] constexpr double cv_figure(double at_0, double at_255, int value, double low,
                                         double high) noexcept {
  return std::clamp(at_0 + (at_255 - at_0) * value / 255.0, low, high);
}

}  // namespace fourbeat::model
