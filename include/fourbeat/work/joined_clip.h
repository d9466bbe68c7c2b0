// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <filesystem>

namespace fourbeat::work {

/// A sound as one clip, to be heard at the desk, with its playback gain. A one-shot: its segment,
/// without the segment's loop. A held sound: begin, hold, release in one, at the hold's rate, the
/// clip's loop the hold's; what follows the loop is how the sound ends: the release, or 10 ms of
/// fade without one. A hold without a loop plays once. Parts that were cut from one place follow
/// each other frame by frame; others are crossfaded over 10 ms (half of the begin at most) with
/// flat power.
/// Errors: bad_argument (no segment to play), those of Renderer and audio::resample(), cancelled.
[[nodiscard]] Result<audio::Clip> joined_clip(const model::Project& project,
                                              const std::filesystem::path& project_folder,
                                              const model::Sound& sound, JobControl& job);

}  // namespace fourbeat::work
