// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include "fourbeat/store/project_file.h"

#include <fmt/format.h>

namespace fourbeat::check {

void loop_outside_segment(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const model::Segment& segment : project.segments) {
    if (!segment.loop) continue;
    const FrameRange loop = segment.loop->range;
    if (!loop.empty() && segment.range.contains(loop)) continue;
    out.push_back({"loop_outside_segment", Severity::error,
                   store::pointer_of(project, segment.id) + "/loop/range", label_of(segment),
                   loop.empty()
                       ? std::string("its loop holds no frame")
                       : fmt::format("its loop of frames {} to {} leaves the segment's {} to {}",
                                     loop.start.value(), loop.end.value(),
                                     segment.range.start.value(), segment.range.end.value()),
                   "move the loop into the segment, or widen the segment"});
  }
}

}  // namespace fourbeat::check
