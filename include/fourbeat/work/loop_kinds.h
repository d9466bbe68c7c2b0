// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/model/project.h"

/// How long a loop should be by what it is a loop of.

namespace fourbeat::work {

/// Shortest loop of a kind of sound, in seconds, 0.5 to 4 (docs/loops.md has the table and the
/// reasons): a search for one begins there unless another length is asked for.
[[nodiscard]] double shortest_loop_s(model::Category kind);

/// What a segment is: the category of the first sound that holds it, else of the first that plays
/// it; where none does, what a mark on a take of its mix says that covers half of it or more; else
/// `other`. `other` for an id that is none.
[[nodiscard]] model::Category kind_of(const model::Project& project, Id<model::Segment> segment);

/// What a search for loops of a segment begins with.
[[nodiscard]] dsp::LoopParams loop_params(const model::Project& project,
                                          Id<model::Segment> segment);

}  // namespace fourbeat::work
