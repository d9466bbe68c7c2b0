// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/model/driving_members.h"
#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

#include <algorithm>
#include <variant>
#include <vector>

namespace fourbeat::check {

namespace {

bool overlap(model::KeyDirection a, model::KeyDirection b) {
  return a == b || a == model::KeyDirection::any || b == model::KeyDirection::any;
}

/// The sound that a key starts at a speed; none: it starts none there.
Id<model::Sound> sound_at(const model::Key& key, double speed_kmh) {
  Id<model::Sound> sound = key.sound;
  for (const model::SpeedVariant& variant : key.by_speed) {
    if (speed_kmh >= variant.from_kmh) sound = variant.sound;
  }
  return sound;
}

const char* sounds_contradict(const model::Key& a, const model::Key& b) {
  if (!may_meet(a.when, b.when)) return nullptr;
  std::vector<double> speeds{0.0};
  for (const model::Key* key : {&a, &b}) {
    for (const model::SpeedVariant& variant : key->by_speed)
      speeds.push_back(variant.from_kmh);
  }
  const char* found = nullptr;
  for (const double speed_kmh : speeds) {
    const Id<model::Sound> one = sound_at(a, speed_kmh);
    const Id<model::Sound> other = sound_at(b, speed_kmh);
    if (!one.is_set() || !other.is_set()) continue;
    if (one != other) return "plays different sounds at the same time";
    found = "plays one sound twice at the same time";
  }
  return found;
}

template <class Task>
bool figures_differ(const Task& a, const Task& b) {
  return model::first_of_members<Task>(
      [&](const auto& member) { return !(a.*member.at == b.*member.at); });
}

/// A task is done whatever the `when` of its use says; that is of the sound alone.
const char* tasks_contradict(const model::Key& a, const model::Key& b) {
  if (!a.task || !b.task || a.task->index() != b.task->index()) return nullptr;
  return std::visit(
      [&]<class Task>(const Task& one) -> const char* {
        const Task& other = std::get<Task>(*b.task);
        if constexpr (std::is_same_v<Task, model::BrakeKey>) {
          return "brakes in two uses";
        } else if constexpr (std::is_same_v<Task, model::WakeKey>) {
          return "puts the engine's sound on in two uses";
        } else if constexpr (std::is_same_v<Task, model::ChoreKey>) {
          return nullptr;  // a key may fire and feed
        } else if constexpr (std::is_same_v<Task, model::OptionKey>) {
          return one.option == other.option && one.value != other.value
                     ? "gives one option two values"
                     : nullptr;
        } else {
          return figures_differ(one, other) ? "does one task with different figures" : nullptr;
        }
      },
      *a.task);
}

const char* contradiction(const model::Key& a, const model::Key& b) {
  if (a.number != b.number || !overlap(a.direction, b.direction)) return nullptr;
  if (a.mode != b.mode && !differ_by_option(a.when, b.when)) {
    return "is latching in one use and momentary in another";
  }
  if (const char* sounds = sounds_contradict(a, b)) return sounds;
  return tasks_contradict(a, b);
}

}  // namespace

void key_contradiction(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (std::size_t later = 0; later < project.keys.size(); ++later) {
    for (std::size_t earlier = 0; earlier < later; ++earlier) {
      const model::Key& key = project.keys[later];
      const model::Key& other = project.keys[earlier];
      const char* what = contradiction(other, key);
      if (what == nullptr) continue;
      out.push_back({"key_contradiction", Severity::error, store::pointer_of(project, key.id),
                     label_of(key),
                     fmt::format("the key {}: see also {} at {}", what, label_of(other),
                                 store::pointer_of(project, other.id)),
                     "move one use to another key, or give each its own direction, states or "
                     "value of an option"});
    }
  }
}

}  // namespace fourbeat::check
