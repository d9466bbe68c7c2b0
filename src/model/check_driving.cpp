// SPDX-License-Identifier: GPL-3.0-or-later
#include "checker.h"

/// Rules that join members of keys, CVs, options, states, triggers, layers, driving and duties.

namespace fourbeat::model {

namespace {

/// A list of values whose `figure` must rise from one to the next.
template <class T, class Figure>
Fault check_rising(const std::vector<T>& list, const Place& place, std::string_view member,
                   const Figure& figure) {
  for (std::size_t i = 1; i < list.size(); ++i) {
    if (figure(list[i]) > figure(list[i - 1])) continue;
    const Place item{&place, {}, i};
    return fault(member.empty() ? item : Place{&item, member},
                 fmt::format("is {}, the one before is {}", figure(list[i]), figure(list[i - 1])),
                 "let each be above the one before");
  }
  return std::nullopt;
}

/// A member that goes with some kinds and not with others.
Fault check_given(bool given, bool wanted, const Place& place, std::string_view what) {
  if (given == wanted) return std::nullopt;
  return fault(place, given ? "is given" : "is missing",
               given ? fmt::format("leave it out of {}", what)
                     : fmt::format("give it, or do without {}", what));
}

}  // namespace

Fault check_together(const Option& option, const Place& place) {
  std::unordered_set<int> seen;
  const Place list{&place, "choices"};
  for (std::size_t i = 0; i < option.choices.size(); ++i) {
    if (seen.insert(option.choices[i].value).second) continue;
    const Place item{&list, {}, i};
    return fault({&item, "value"}, fmt::format("is {} twice", option.choices[i].value),
                 "give each choice a value of its own");
  }
  return std::nullopt;
}

Fault check_together(const When& when, const Place& place) {
  const Place list{&place, "own_states"};
  for (std::size_t i = 0; i < when.own_states.size(); ++i) {
    if (!when.own_states[i].is_set()) return fault({&list, {}, i}, "no reference", "name a state");
  }
  return std::nullopt;
}

Fault check_together(const TimeSpan& span, const Place& place) {
  if (span.from_s <= span.to_s) return std::nullopt;
  return fault({&place, "to_s"}, fmt::format("is {}, from_s is {}", span.to_s, span.from_s),
               "let it be from_s or more");
}

Fault check_together(const Trigger& trigger, const Place& place) {
  if (Fault found =
          check_given(trigger.every.has_value(), trigger.event == TriggerEvent::every,
                      {&place, "every"}, fmt::format("a trigger of {}", word_of(trigger.event)))) {
    return found;
  }
  if (trigger.every && trigger.every->from_s < shortest_every_s) {
    const Place span{&place, "every"};
    return fault({&span, "from_s"}, fmt::format("is {}", trigger.every->from_s),
                 fmt::format("give at least {} s", shortest_every_s));
  }
  return check_given(trigger.instead_of.is_set(), trigger.action == TriggerAction::swap,
                     {&place, "instead_of"},
                     fmt::format("a trigger that does {}", word_of(trigger.action)));
}

Fault check_together(const Layer& layer, const Place& place) {
  const auto self = [](double figure) { return figure; };
  const Place angles{&place, "angles_deg"};
  if (Fault found = check_rising(layer.angles_deg, angles, {}, self)) return found;
  for (std::size_t i = 0; i < layer.angles_deg.size(); ++i) {
    if (layer.angles_deg[i] < 360.0) continue;
    return fault({&angles, {}, i}, fmt::format("is {}", layer.angles_deg[i]),
                 "give angles below 360");
  }
  const Place axles{&place, "axles_m"};
  if (Fault found = check_rising(layer.axles_m, axles, {}, self)) return found;
  if (!layer.axles_m.empty() && layer.axles_m.front() != 0.0) {
    return fault({&axles, {}, 0}, fmt::format("is {}", layer.axles_m.front()),
                 "start with the first axle, at 0");
  }
  if (layer.from_kmh >= layer.to_kmh) {
    return fault({&place, "to_kmh"},
                 fmt::format("is {}, from_kmh is {}", layer.to_kmh, layer.from_kmh),
                 "let it be above from_kmh");
  }
  const std::string word = fmt::format("a layer of {}", word_of(layer.kind));
  if (Fault found =
          check_given(!layer.angles_deg.empty(), layer.kind == LayerKind::wheel, angles, word)) {
    return found;
  }
  if (layer.kind == LayerKind::distance && layer.joint_m < 1.0) {
    return fault({&place, "joint_m"}, fmt::format("is {}", layer.joint_m),
                 "give the metres between joints, 1 or more");
  }
  return check_rising(layer.levels, {&place, "levels"}, "speed_kmh",
                      [](const SpeedLevel& level) { return level.speed_kmh; });
}

Fault check_together(const Key& key, const Place& place) {
  const Place list{&place, "by_speed"};
  const auto speed = [](const SpeedVariant& variant) { return variant.from_kmh; };
  if (Fault found = check_rising(key.by_speed, list, "from_kmh", speed)) return found;
  if (key.by_speed.empty() || key.by_speed.front().from_kmh > 0.0) return std::nullopt;
  const Place item{&list, {}, 0};
  return fault({&item, "from_kmh"}, "is 0", "let the key's own sound serve from rest");
}

Fault check_together(const CvEffect& effect, const Place& place) {
  struct Needed {
    bool given;
    bool wanted;
    std::string_view member;
  };
  const CvTarget target = effect.target;
  const Needed needed[] = {
      {effect.sound.is_set(), target == CvTarget::sound_gain, "sound"},
      {effect.layer.is_set(), target == CvTarget::layer_gain, "layer"},
      {effect.state.is_set(), target == CvTarget::state_speed || target == CvTarget::state_time,
       "state"},
      {effect.trigger.is_set(), target == CvTarget::trigger_time, "trigger"}};
  for (const Needed& one : needed) {
    if (Fault found = check_given(one.given, one.wanted, {&place, one.member},
                                  fmt::format("an effect on {}", word_of(target)))) {
      return found;
    }
  }
  return std::nullopt;
}

Fault check_together(const Driving& driving, const Place& place) {
  const Place curve{&place, "speed_curve"};
  if (Fault found = check_rising(driving.speed_curve, curve, "level",
                                 [](const SpeedPoint& point) { return point.level; })) {
    return found;
  }
  for (std::size_t i = 1; i < driving.speed_curve.size(); ++i) {
    if (driving.speed_curve[i].speed_kmh >= driving.speed_curve[i - 1].speed_kmh) continue;
    const Place item{&curve, {}, i};
    return fault({&item, "speed_kmh"}, fmt::format("is {}", driving.speed_curve[i].speed_kmh),
                 "let no speed be below the one before");
  }
  return std::nullopt;
}

Fault check_together(const Duties& duties, const Place& place) {
  if (duties.reseat_bar >= duties.lift_bar) {
    return fault({&place, "reseat_bar"},
                 fmt::format("is {}, lift_bar is {}", duties.reseat_bar, duties.lift_bar),
                 "let it be below lift_bar");
  }
  if (duties.stalled_bar >= duties.weak_bar) {
    return fault({&place, "stalled_bar"},
                 fmt::format("is {}, weak_bar is {}", duties.stalled_bar, duties.weak_bar),
                 "let it be below weak_bar");
  }
  if (duties.low_water >= duties.high_water) {
    return fault({&place, "low_water"},
                 fmt::format("is {}, high_water is {}", duties.low_water, duties.high_water),
                 "let it be below high_water");
  }
  return std::nullopt;
}

}  // namespace fourbeat::model
