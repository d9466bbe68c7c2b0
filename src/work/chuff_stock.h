// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <vector>

namespace fourbeat::work {

/// The chuffs and fused loops of a table as they are rendered from the takes, at one rate, with the
/// table's gain: for playing rows without a decoder.
class ChuffStock {
 public:
  /// Renders the table, or one row of it, at the rate of the first piece's take. Errors: too_short
  /// (no chuff), cancelled, those of Renderer and resample.
  [[nodiscard]] static Result<ChuffStock> render(const model::Project& project,
                                                 const std::filesystem::path& project_folder,
                                                 std::optional<Id<model::ChuffRow>> only,
                                                 JobControl& job);

  [[nodiscard]] double sample_rate_hz() const { return sample_rate_hz_; }
  /// The longest that a chuff begins before its beat.
  [[nodiscard]] std::int64_t lead_frames() const { return lead_frames_; }

  /// Adds the chuff that a row plays at a place of a turn to the samples, its beat at a frame.
  /// False where the row holds none there. What lies outside the samples is left out.
  bool play(std::vector<float>& samples, std::int64_t beat_frame, Id<model::ChuffRow> row,
            std::int64_t turn, std::size_t position) const;

  /// True where a row plays a loop in the place of chuffs.
  [[nodiscard]] bool is_fused(Id<model::ChuffRow> row) const { return loops_.count(row) != 0; }
  /// Adds the loop of a fused row from one frame to another, fading in after the first and out
  /// after the other as drive does.
  [[nodiscard]] Status play_loop(std::vector<float>& samples, std::int64_t from_frame,
                                 std::int64_t to_frame, Id<model::ChuffRow> row) const;

 private:
  struct Chuff {
    std::vector<float> samples;
    std::int64_t lead_frames = 0;
  };
  using Revolutions = std::vector<std::map<std::size_t, Chuff>>;  // by position

  double sample_rate_hz_ = 0.0;
  std::int64_t lead_frames_ = 0;
  float gain_ = 1.0F;
  std::map<Id<model::ChuffRow>, Revolutions> rows_;
  std::map<Id<model::ChuffRow>, audio::Clip> loops_;  // at their own rates
};

}  // namespace fourbeat::work
