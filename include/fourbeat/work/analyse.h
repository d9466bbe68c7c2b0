// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/model/segment.h"

#include <filesystem>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::work {

class FileSource;

/// Which stretch and which channels of a file are looked at.
struct Stretch {
  std::optional<int> channel;  ///< from 1; none: all, mixed to mono where one is needed
  std::optional<double> from_s;
  std::optional<double> to_s;
};

/// The frames a stretch names. Errors: bad_argument (reversed, outside the file, no such channel).
[[nodiscard]] Result<FrameRange> frames_of(const audio::SoundFileInfo& info,
                                           const Stretch& stretch);

/// Beats of a stretch that is read by blocks; frames and times count from the file's start.
[[nodiscard]] Result<dsp::BeatTrack> beats_of_source(FileSource& source,
                                                     const dsp::BeatHints& hints, JobControl& job);

/// Beats of a file; frames and times count from the file's start.
[[nodiscard]] Result<dsp::BeatTrack> beats_of_file(const std::filesystem::path& file,
                                                   const Stretch& stretch,
                                                   const dsp::BeatHints& hints, JobControl& job);

/// Loops of a file; frames count from the file's start.
struct FileLoops {
  audio::SoundFileInfo info;
  dsp::LoopSearch search;
};
[[nodiscard]] Result<FileLoops> loops_of_file(const std::filesystem::path& file,
                                              const Stretch& stretch, const dsp::LoopParams& params,
                                              JobControl& job);

/// Writes a loop of a file as rendered, once: all channels, source rate, 24 bit, `smpl` over the
/// whole. Errors: would_overwrite when `out` is the file itself.
[[nodiscard]] Status write_loop(const std::filesystem::path& file, const dsp::LoopSpec& loop,
                                const std::filesystem::path& out);

/// Level of one channel before and after cleaning; absent for silence.
struct CleanedChannel {
  std::optional<double> before_dbfs;
  std::optional<double> after_dbfs;
  std::optional<double> removed_dbfs;  ///< level of the difference
};
/// Cleans every channel of a file into another (24 bit). Errors: would_overwrite (the file itself).
[[nodiscard]] Result<std::vector<CleanedChannel>> clean_file(
    const std::filesystem::path& file, const std::vector<model::CleanStep>& steps,
    const std::filesystem::path& out, JobControl& job);

/// Runs a clean chain over samples, in place.
[[nodiscard]] Status run_clean_chain(std::span<float> samples, double sample_rate_hz,
                                     const std::vector<model::CleanStep>& steps);

/// A loop found in a segment's material, as the segment holds it: on the pass clock.
[[nodiscard]] model::Loop loop_in_segment(const dsp::LoopSpec& found,
                                          const model::Segment& segment);

/// The same for any material cut from a pass: it starts there at frame `start`.
[[nodiscard]] model::Loop loop_in_material(const dsp::LoopSpec& found, FrameIndex start);

/// A loop as it is rendered, in material that starts at frame `start` of the pass.
[[nodiscard]] dsp::LoopSpec spec_in_material(const model::Loop& loop, FrameIndex start);

}  // namespace fourbeat::work
