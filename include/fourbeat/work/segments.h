// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::work {

/// Where a take's frame 0 stands on the clock of its pass; 0 for a take without a pass.
[[nodiscard]] FrameCount pass_offset(const model::Project& project, Id<model::Take> take);

/// Frames of a take as frames of its pass, and back.
[[nodiscard]] FrameRange on_pass(const model::Project& project, Id<model::Take> take,
                                 FrameRange of_take);
[[nodiscard]] FrameRange on_take(const model::Project& project, Id<model::Take> take,
                                 FrameRange of_pass);

/// A segment cut from one channel (from 1) of a take; frames of the take; id unset.
/// Errors: not_found (take, or its pass), bad_argument (range outside the take or empty, channel).
[[nodiscard]] Result<model::Segment> cut_segment(const model::Project& project,
                                                 Id<model::Take> take, int channel,
                                                 FrameRange of_take, const std::string& name);

/// Takes a segment out, with the verdicts on its seam. The edits are refused (in_use) while a
/// sound plays it.
[[nodiscard]] std::vector<model::Edit> edits_to_remove_segment(const model::Project& project,
                                                               Id<model::Segment> segment);

/// The lengths asked for, brought down to what material of so many seconds has: the shortest to
/// half of it at most, so that there is something to choose from.
[[nodiscard]] dsp::LoopParams brought_down(dsp::LoopParams params, double length_s);

/// Loops of a segment's material; frames count from the segment's start (loop_in_segment() puts
/// them on the pass clock). params: loop_params(), or what else is asked for; brought_down() to
/// what the segment has, which the reason tells where the best is then shorter than asked for.
/// Where none is clean or long enough, it also tells where in the take (seconds of the mix's first
/// take) the same sound goes on and has a clean loop, if it does within 30 s. Errors: not_found
/// (segment), those of render_material() and dsp::find_loops().
[[nodiscard]] Result<dsp::LoopSearch> find_segment_loops(
    const model::Project& project, const std::filesystem::path& project_folder,
    Id<model::Segment> segment, dsp::LoopParams params, JobControl& job);

/// The segments that held sounds hold without a loop, each once, in order of the sounds.
[[nodiscard]] std::vector<Id<model::Segment>> holds_without_loop(const model::Project& project);

/// The piece whose seam a key names: a segment's or a fused row's. Errors: not_found (no such
/// segment or row), bad_argument (no loop).
[[nodiscard]] Result<model::Piece> looped_piece(const model::Project& project,
                                                const model::PieceKey& key);

/// What was heard, for a verdict.
struct HeardAs {
  int sample_rate_hz = 0;  ///< as a decoder stores it; 0: as recorded
  int bits = 0;
  std::string speaker;  ///< name of the speaker it went through; "" for none
  bool operator==(const HeardAs&) const = default;
};

/// What the designer decided on the seam of a loop as it is now. Errors: not_found (no such segment
/// or row), bad_argument (no loop).
[[nodiscard]] Result<model::Edit> judge_seam(const model::Project& project,
                                             const model::PieceKey& key, model::VerdictKind kind,
                                             const HeardAs& heard = {},
                                             const std::string& note = {});

/// A looped clip as heard around its wrap: `seconds` before it and `seconds` after, the loop going
/// round as often as that takes. Errors: bad_argument (no loop, seconds not over 0, over 60).
[[nodiscard]] Result<audio::Clip> through_seam(const audio::Clip& looped, double seconds);

/// A segment as it is heard: mixed, cleaned, faded, its loop blended. The segment need not be the
/// project's own. Errors: as Renderer::render.
[[nodiscard]] Result<audio::Clip> render_segment(const model::Project& project,
                                                 const std::filesystem::path& project_folder,
                                                 const model::Segment& segment, JobControl& job);

/// How loud a clip is: LUFS where it is long enough for a figure, else the K-weighted energy of a
/// short event. Absent for silence.
struct ClipLoudness {
  double db = 0.0;
  bool is_lufs = false;
};
[[nodiscard]] std::optional<ClipLoudness> loudness_of(const audio::Clip& clip);

/// Writes a segment as it is heard: mono, its take's rate, 24 bit, `smpl` over its loop.
/// Errors: would_overwrite when `out` is a take of the project, those of render and writing.
[[nodiscard]] Status write_segment(const model::Project& project,
                                   const std::filesystem::path& project_folder,
                                   const model::Segment& segment, const std::filesystem::path& out,
                                   JobControl& job);

/// A segment before cleaning, to be compared with what it is after it.
struct CleanComparison {
  audio::Clip uncleaned;             ///< brought to the loudness of the cleaned one
  std::optional<double> matched_db;  ///< the gain that brought it there; absent: one is silent
  std::optional<double> removed_db;  ///< RMS of the difference over the uncleaned; absent: silence
};
/// Errors: those of render.
[[nodiscard]] Result<CleanComparison> compare_cleaning(const model::Project& project,
                                                       const std::filesystem::path& project_folder,
                                                       const model::Segment& segment,
                                                       JobControl& job);

}  // namespace fourbeat::work
