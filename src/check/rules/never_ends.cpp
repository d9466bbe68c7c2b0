// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <algorithm>

namespace fourbeat::check {

namespace {

bool lasts_for_ever(const model::Project& project, const model::Sound& sound) {
  const model::Segment* hold = model::find(project, sound.hold);
  return sound.kind == model::SoundKind::held && hold != nullptr && hold->loop;
}

bool starts(const model::Trigger& trigger, Id<model::Sound> sound) {
  return trigger.action != model::TriggerAction::stop && trigger.sound == sound;
}

bool ends(const model::Trigger& trigger, Id<model::Sound> sound) {
  if (trigger.action == model::TriggerAction::stop) return trigger.sound == sound;
  return trigger.action == model::TriggerAction::swap && trigger.instead_of == sound;
}

bool plays(const model::Key& key, Id<model::Sound> sound) {
  return key.sound == sound ||
         std::any_of(key.by_speed.begin(), key.by_speed.end(),
                     [&](const model::SpeedVariant& variant) { return variant.sound == sound; });
}

bool plays(const model::Layer& layer, Id<model::Sound> sound) {
  return std::find(layer.sounds.begin(), layer.sounds.end(), sound) != layer.sounds.end();
}

template <class List, class Test>
bool any(const List& list, const Test& test) {
  return std::any_of(list.begin(), list.end(), test);
}

bool is_started(const model::Project& project, Id<model::Sound> sound) {
  return any(project.triggers, [&](const model::Trigger& t) { return starts(t, sound); }) ||
         any(project.keys, [&](const model::Key& key) { return plays(key, sound); }) ||
         any(project.layers, [&](const model::Layer& layer) { return plays(layer, sound); });
}

/// Whether a sound that is started takes this one's place.
bool gives_way(const model::Project& project, const model::Sound& sound) {
  return !sound.group.empty() && any(project.sounds, [&](const model::Sound& other) {
    return other.id != sound.id && other.group == sound.group && is_started(project, other.id);
  });
}

}  // namespace

void never_ends(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Trigger& trigger : project.triggers) {
    if (trigger.action == model::TriggerAction::stop || trigger.lasts) continue;
    const model::Sound* sound = model::find(project, trigger.sound);
    if (sound == nullptr || !lasts_for_ever(project, *sound) || gives_way(project, *sound))
      continue;
    if (any(project.triggers, [&](const model::Trigger& t) { return ends(t, sound->id); }))
      continue;
    out.push_back({"never_ends", Severity::warning,
                   store::pointer_of(project, trigger.id) + "/sound", label_of(trigger),
                   "it starts " + label_of(*sound) + ", which is held, and nothing lets it go",
                   "say how long it lasts, or add a trigger that stops it"});
  }
}

}  // namespace fourbeat::check
