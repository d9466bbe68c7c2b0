// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <optional>

namespace fourbeat::work {

/// Where a clean loop of the sound of a segment lies in its pass, when the segment itself holds
/// none: the longest stretch within 30 s of it that goes on sounding alike, mixed and cleaned as
/// the segment is, and in which a clean loop was found. On the pass clock; nothing where there is
/// none. params: as asked for, not brought down to the segment.
/// Errors: those of render_material(), cancelled.
[[nodiscard]] Result<std::optional<FrameRange>> better_stretch(
    const model::Project& project, const std::filesystem::path& project_folder,
    const model::Segment& segment, dsp::LoopParams params, JobControl& job);

}  // namespace fourbeat::work
