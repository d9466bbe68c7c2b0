// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/store/takes.h"

#include <filesystem>

namespace fourbeat::tests {

/// A project in the folder of a recording that holds it as take 1, alone in pass 2, which it enters
/// at `offset_frames`.
inline model::Project project_of_take(const std::filesystem::path& file,
                                      std::int64_t offset_frames = 0) {
  JobControl job;
  Result<model::Take> take = store::describe_take(file, file.parent_path(), job);
  REQUIRE(take);
  take->id = Id<model::Take>(1);
  model::Project project;
  project.takes.push_back(*take);
  model::Pass pass;
  pass.id = Id<model::Pass>(2);
  pass.takes.push_back({take->id, FrameCount(offset_frames), {}});
  project.passes.push_back(pass);
  project.next_id = 10;
  return project;
}

/// Writes a take into a folder and gives its project.
inline model::Project one_take_project(const std::filesystem::path& folder, const audio::Pcm& pcm,
                                       audio::WavDepth depth, std::int64_t offset_frames) {
  REQUIRE(audio::write_wav(folder / "take.wav", pcm, depth));
  return project_of_take(folder / "take.wav", offset_frames);
}

}  // namespace fourbeat::tests
