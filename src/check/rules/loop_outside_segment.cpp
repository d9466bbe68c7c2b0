// SPDX-License-Identifier: GPL-3.0-or-later
#include "rules_list.h"

#include <fmt/format.h>

namespace fourbeat::check {

void loop_outside_segment(const model::Project& project, const Facts& /*facts*/, Snags& out) {
  for (const LoopPlace& place : loops_of(project)) {
    const FrameRange loop = place.loop.range;
    if (!loop.empty() && place.material.contains(loop)) continue;
    out.push_back(
        {"loop_outside_segment", Severity::error, place.words.pointer + "/range", place.words.label,
         loop.empty() ? std::string("its loop holds no frame")
                      : fmt::format("its loop of frames {} to {} leaves the {}'s {} to {}",
                                    loop.start.value(), loop.end.value(), place.word,
                                    place.material.start.value(), place.material.end.value()),
         fmt::format("move the loop into the {0}, or widen the {0}", place.word)});
  }
}

}  // namespace fourbeat::check
