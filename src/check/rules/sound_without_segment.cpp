// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

namespace {

/// A part of a sound: the member it is, and what to call it.
struct Part {
  const char* member;
  Id<model::Segment> segment;
  bool needed;
};

}  // namespace

void sound_without_segment(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Sound& sound : project.sounds) {
    const std::string pointer = store::pointer_of(project, sound.id);
    const auto tell = [&](std::string where, std::string message, const char* mend) {
      out.push_back({"sound_without_segment", Severity::error, std::move(where), label_of(sound),
                     std::move(message), mend});
    };
    const bool held = sound.kind == model::SoundKind::held;
    const std::vector<Part> parts = held ? std::vector<Part>{{"begin", sound.begin, false},
                                                             {"hold", sound.hold, true},
                                                             {"release", sound.release, false}}
                                         : std::vector<Part>{{"segment", sound.segment, true}};
    for (const Part& part : parts) {
      if (!part.segment.is_set()) {
        if (!part.needed) continue;
        // A member that is not set is not in the file: the place is the sound.
        tell(pointer, held ? "it has no segment to hold" : "it has no segment to play",
             "give it a segment");
      } else if (model::find(project, part.segment) == nullptr) {
        tell(pointer + "/" + part.member,
             held ? fmt::format("its {} segment does not exist", part.member)
                  : std::string("its segment does not exist"),
             "give it another segment");
      }
    }
    if (!held) continue;
    const model::Segment* hold = model::find(project, sound.hold);
    if (hold == nullptr || hold->loop) continue;
    tell(pointer + "/hold", fmt::format("it is held, but its {} has no loop", label_of(*hold)),
         "find a loop in the segment");
  }
}

}  // namespace fourbeat::check
