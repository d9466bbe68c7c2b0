// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/beat_sound.h"
#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/pass_by.h"
#include "fourbeat/dsp/speed.h"
#include "fourbeat/model/project.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/effort.h"

#include <filesystem>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::work {

/// A take with its beats as they are used: corrections by hand applied, speed and effort measured.
struct TrackedTake {
  Id<model::Take> take;  ///< unset: a file of no project
  int channel = 1;       ///< the microphone that was heard, from 1; 0: all, mixed
  dsp::BeatTrack track;  ///< frames of the take; Beat::speed_kmh is the curve's
  dsp::SpeedCurve speed;
  std::vector<EffortSign> signs;       ///< one a beat
  std::vector<model::Effort> efforts;  ///< one a beat
  std::optional<dsp::PassBy>
      pass_by;  ///< heard from the line's side: its speed is the engine's own
  /// Whether chuffs are cut from it: as the take says, else unless a pass-by is heard in it.
  bool chuff_source = true;
  std::vector<Id<model::Mark>> idle_marks;  ///< corrections that found nothing to correct
};

/// The channel whose microphone is at the chimney, else the first.
[[nodiscard]] int chuff_channel(const model::Take& take);

/// What the engine's figures tell the tracker, and the measures of speed.
[[nodiscard]] dsp::BeatHints beat_hints(const model::Engine& engine);
[[nodiscard]] dsp::WheelParams wheel_params(const model::Engine& engine);

/// Tracks the beats of a take at the chimney, or where no microphone is there in the channel that
/// hears them best (surest_channel()), applies the marks that correct them, and measures speed,
/// pass-by and effort. Errors: not_found (take), those of reading, tracking and correcting.
[[nodiscard]] Result<TrackedTake> track_take(const model::Project& project,
                                             const std::filesystem::path& project_folder,
                                             Id<model::Take> take, JobControl& job);

/// The measuring half of track_take(), for a track that is there already. sounds: one a beat, or
/// empty where none were measured. Errors: not_found (take), bad_argument (engine out of range).
[[nodiscard]] Result<TrackedTake> measure_take(
    const model::Project& project, Id<model::Take> take, int channel, dsp::BeatTrack track,
    const std::vector<std::optional<dsp::BeatSound>>& sounds);

/// The channel of a file, from 1, in which beats are surest over the middle ten minutes of a
/// stretch (dsp::track_best_channel()); its own channel is not looked at. Errors: those of reading
/// and tracking.
[[nodiscard]] Result<int> surest_channel(const std::filesystem::path& file, const Stretch& stretch,
                                         const dsp::BeatHints& hints, JobControl& job);

/// As track_take(), for a stretch of a file outside any project: nothing is corrected. Speeds need
/// hints.driver_diameter_mm; without beats_per_rev it is 4. Errors: those of reading and tracking.
[[nodiscard]] Result<TrackedTake> track_file(const std::filesystem::path& file,
                                             const Stretch& stretch, const dsp::BeatHints& hints,
                                             JobControl& job);

/// Judges the efforts of all takes together: by the engine's calibration, else by the one that
/// their beats suggest (effort.h). Returns the calibration used.
model::EffortCalibration judge_takes(const model::Project& project, std::span<TrackedTake> takes);

}  // namespace fourbeat::work
