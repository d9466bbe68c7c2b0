// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <fmt/format.h>

namespace fourbeat::check {

void crossfade_too_long(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const LoopPlace& place : loops_of(project)) {
    const model::Loop& loop = place.loop;
    // A loop outside its material has a rule of its own.
    if (!place.material.contains(loop.range)) continue;
    const bool at_start = loop.crossfade_at == model::CrossfadeAt::start;
    const FrameCount beside =
        at_start ? place.material.end - loop.range.end : loop.range.start - place.material.start;
    const FrameCount room = std::min(beside, loop.range.length());
    if (loop.crossfade_frames <= room) continue;
    const std::string where = loop.range.length() < beside ? std::string("in the loop itself")
                              : at_start
                                  ? fmt::format("between the loop and the {}'s end", place.word)
                                  : fmt::format("between the {}'s start and the loop", place.word);
    out.push_back({"crossfade_too_long", Severity::error, place.words.pointer + "/crossfade_frames",
                   place.words.label,
                   fmt::format("the crossfade takes {} frames, there are {} {}",
                               loop.crossfade_frames.value(), room.value(), where),
                   fmt::format("shorten it to {} frames, widen the {}, or blend at the loop's "
                               "other end",
                               room.value(), place.word)});
  }
}

}  // namespace fourbeat::check
