// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/deliver/bundle.h"
#include "fourbeat/deliver/notes.h"
#include "fourbeat/model/project.h"

namespace fourbeat::deliver {

/// The sheet for the recording day: what to record from which microphone position in which state
/// of the engine, what the project has already, a log to fill in, cautions. The list of sounds is
/// common practice, no source.
[[nodiscard]] Sheet day_sheet(const model::Project& project);

/// The sheet for whoever feeds a decoder maker's own loader by hand: every file in order with its
/// rate, depth, length, loop points, gain and what plays it. Loop ends are the last frame played,
/// as a `smpl` chunk has them, and the sheet says so.
/// Errors: bad_argument (pieces and fit do not belong together).
[[nodiscard]] Result<Sheet> loading_sheet(const BundleInput& input);

}  // namespace fourbeat::deliver
