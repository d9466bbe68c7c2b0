// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/model/driving_members.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

constexpr const char* name = "trigger_without_sound";

void look_at(const model::Project& project, const model::Layer& layer, Snags& out) {
  const std::string pointer = store::pointer_of(project, layer.id);
  const auto tell = [&](Severity severity, std::string where, std::string message,
                        const char* mend) {
    out.push_back({name, severity, std::move(where), label_of(layer), std::move(message), mend});
  };
  if (layer.sounds.empty()) {
    tell(Severity::warning, pointer, "it has no sound to play", "give it a sound, or remove it");
    return;
  }
  const bool bed = layer.kind == model::LayerKind::bed;
  if (bed && layer.sounds.size() > 1) {
    tell(Severity::hint, pointer + "/sounds/1", "a bed plays its first sound and no other",
         "remove the others, or give each a layer of its own");
  }
  const model::SoundKind wanted = bed ? model::SoundKind::held : model::SoundKind::one_shot;
  for (std::size_t i = 0; i < layer.sounds.size(); ++i) {
    const model::Sound* sound = model::find(project, layer.sounds[i]);
    if (sound == nullptr || sound->kind == wanted || (bed && i > 0)) continue;
    tell(Severity::error, fmt::format("{}/sounds/{}", pointer, i),
         bed ? fmt::format("a bed needs a held sound, {} is a one-shot", label_of(*sound))
             : fmt::format("a layer of {} needs one-shots, {} is held", word_of(layer.kind),
                           label_of(*sound)),
         bed ? "give it a sound with a loop to hold" : "give it a sound that plays once");
  }
}

}  // namespace

void trigger_without_sound(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Trigger& trigger : project.triggers) {
    if (trigger.sound.is_set()) continue;
    out.push_back({name, Severity::warning, store::pointer_of(project, trigger.id),
                   label_of(trigger),
                   trigger.action == model::TriggerAction::stop ? "it names no sound to stop"
                                                                : "it names no sound to start",
                   "give it a sound, or remove it"});
  }
  for (const model::Layer& layer : project.layers)
    look_at(project, layer, out);
}

}  // namespace fourbeat::check
