// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/piece.h"

#include <filesystem>
#include <memory>

namespace fourbeat::work {

/// Renders pieces from their takes: microphones mixed to mono on the pass clock, cleaned, gain,
/// trimmed, faded, the loop blended. Keeps the takes open between pieces; one thread at a time.
/// The clean chain starts from rest up to a second before the piece, so that its own settling is
/// not heard; the material of a loop's blend is the segment itself.
class Renderer {
 public:
  /// `project`, and `job` where there is one, must outlive the object.
  Renderer(const model::Project& project, std::filesystem::path project_folder,
           JobControl* job = nullptr);
  ~Renderer();
  Renderer(const Renderer&) = delete;
  Renderer& operator=(const Renderer&) = delete;

  /// One piece at its take's rate, 32-bit float. Errors: not_found (pass, take or file), bad_input
  /// (range outside the pass, a channel the take does not have), changed, cancelled, those of
  /// reading and blending.
  [[nodiscard]] Result<audio::Clip> render(const model::Piece& piece);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// A segment before its loop is blended: what the loop finder searches.
[[nodiscard]] Result<audio::Pcm> render_material(const model::Project& project,
                                                 const std::filesystem::path& project_folder,
                                                 const model::Segment& segment);

}  // namespace fourbeat::work
