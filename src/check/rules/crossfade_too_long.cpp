// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

void crossfade_too_long(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Segment& segment : project.segments) {
    // A loop outside its segment has a rule of its own.
    if (!segment.loop || !segment.range.contains(segment.loop->range)) continue;
    const model::Loop& loop = *segment.loop;
    const bool at_start = loop.crossfade_at == model::CrossfadeAt::start;
    const FrameCount beside =
        at_start ? segment.range.end - loop.range.end : loop.range.start - segment.range.start;
    const FrameCount room = std::min(beside, loop.range.length());
    if (loop.crossfade_frames <= room) continue;
    const char* where = loop.range.length() < beside ? "in the loop itself"
                        : at_start                   ? "between the loop and the segment's end"
                                                     : "between the segment's start and the loop";
    out.push_back({"crossfade_too_long", Severity::error,
                   store::pointer_of(project, segment.id) + "/loop/crossfade_frames",
                   label_of(segment),
                   fmt::format("the crossfade takes {} frames, there are {} {}",
                               loop.crossfade_frames.value(), room.value(), where),
                   fmt::format("shorten it to {} frames, widen the segment, or blend at the loop's "
                               "other end",
                               room.value())});
  }
}

}  // namespace fourbeat::check
