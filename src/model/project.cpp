// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/project.h"

#include "fourbeat/model/entities.h"

#include <algorithm>

namespace fourbeat::model {

namespace {

template <class T>
const T* find_in(const Project& project, Id<T> id) {
  const std::optional<std::size_t> at = index_of(project, id);
  return at ? &list_of<T>(project)[*at] : nullptr;
}

}  // namespace

const Take* find(const Project& project, Id<Take> id) {
  return find_in(project, id);
}
const Pass* find(const Project& project, Id<Pass> id) {
  return find_in(project, id);
}
const Mark* find(const Project& project, Id<Mark> id) {
  return find_in(project, id);
}
const Segment* find(const Project& project, Id<Segment> id) {
  return find_in(project, id);
}
const Sound* find(const Project& project, Id<Sound> id) {
  return find_in(project, id);
}
const ChuffRow* find(const Project& project, Id<ChuffRow> id) {
  return find_in(project, id);
}
const Key* find(const Project& project, Id<Key> id) {
  return find_in(project, id);
}
const OwnState* find(const Project& project, Id<OwnState> id) {
  return find_in(project, id);
}
const Trigger* find(const Project& project, Id<Trigger> id) {
  return find_in(project, id);
}
const Layer* find(const Project& project, Id<Layer> id) {
  return find_in(project, id);
}
const Option* find(const Project& project, Id<Option> id) {
  return find_in(project, id);
}
const Cv* find(const Project& project, Id<Cv> id) {
  return find_in(project, id);
}
const Verdict* find(const Project& project, Id<Verdict> id) {
  return find_in(project, id);
}

const Pass* pass_of(const Project& project, Id<Take> take) {
  if (!take.is_set()) return nullptr;
  for (const Pass& pass : project.passes) {
    for (const PassTake& entry : pass.takes) {
      if (entry.take == take) return &pass;
    }
  }
  return nullptr;
}

std::vector<Id<Segment>> segments_of(const Sound& sound) {
  std::vector<Id<Segment>> parts;
  const auto add = [&](Id<Segment> id) {
    if (id.is_set()) parts.push_back(id);
  };
  if (sound.kind == SoundKind::one_shot) {
    add(sound.segment);
  } else {
    add(sound.begin);
    add(sound.hold);
    add(sound.release);
  }
  return parts;
}

std::vector<double> beat_angles_deg(const Engine& engine) {
  if (!engine.beat_angles_deg.empty()) return engine.beat_angles_deg;
  std::vector<double> angles;
  angles.reserve(static_cast<std::size_t>(std::max(engine.beats_per_rev, 0)));
  for (int i = 0; i < engine.beats_per_rev; ++i) {
    angles.push_back(360.0 * i / engine.beats_per_rev);
  }
  return angles;
}

}  // namespace fourbeat::model
