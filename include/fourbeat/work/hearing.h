// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/dsp/seam.h"
#include "fourbeat/dsp/speaker.h"
#include "fourbeat/fit/encode.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/work/produce.h"

#include <array>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

/// Hearing a sound as it will be: as a decoder stores it, and through the speaker it plays from.

namespace fourbeat::work {

/// What a sound can be heard as beside as recorded.
struct HearingPlan {
  std::optional<model::DecoderProfile> profile;  ///< none: it cannot be heard as stored
  fit::Encoding encoding;                        ///< one that the profile offers
  double baked_db = 0.0;                         ///< gain that the fit puts into the samples
  std::optional<model::Speaker> speaker;         ///< none: not through a speaker
};

/// How the fit stores a piece; where nothing is fitted (`fitted` null) or the piece is not in it,
/// the profile's best rate and depth. speaker: the project's. Without a profile it is not stored.
[[nodiscard]] HearingPlan hearing_plan(const model::Project& project,
                                       const std::optional<model::DecoderProfile>& profile,
                                       const FittedSet* fitted, const std::string& piece_name);

/// One way to hear a sound.
struct Way {
  bool stored = false;   ///< at the decoder's rate and depth, brought back; else as recorded
  bool speaker = false;  ///< through the speaker
  bool operator==(const Way&) const = default;
};

/// A sound in every way it can be heard. All are at its own rate, equally long, and of one loudness
/// (K-weighted, work::loudness_of) wherever that can be measured; all are turned down together
/// where one of them would pass -1 dBFS.
struct Hearing {
  std::array<std::shared_ptr<const audio::Clip>, 4> clips;  ///< null: not to be had; see clip()
  FrameIndex wrap;  ///< where a loop's wrap lies; 0 for a sound without a loop
  std::optional<fit::Encoding> encoding;  ///< as stored
  std::string speaker;                    ///< its name; "" for none
  std::optional<double> matched_db;       ///< loudness of each, turned down; absent: silence

  [[nodiscard]] const std::shared_ptr<const audio::Clip>& clip(Way way) const {
    return clips[(way.stored ? 1U : 0U) + (way.speaker ? 2U : 0U)];
  }
  [[nodiscard]] bool has(Way way) const { return clip(way) != nullptr; }
};

/// A rendered clip in every way of a plan: one with a loop goes through its seam, `side_s` on
/// either side, as often round as that takes; one without is heard whole. Its ends are faded over
/// 10 ms. name: the piece's, which its dither is drawn from. The stored form is fit::encode()'s
/// own. Errors: bad_argument (side_s not over 0, over 60), those of encoding, resampling and
/// filtering.
[[nodiscard]] Result<Hearing> hear(const audio::Clip& clip, const std::string& name,
                                   const HearingPlan& plan, double side_s);

/// A seam, magnified: what the loop plays, and the two sides that its crossfade blends, on one axis
/// whose frame 0 is the first after the wrap.
struct SeamPicture {
  double sample_rate_hz = 0.0;
  std::int64_t first_frame = 0;  ///< of the three lists, seen from the wrap; negative
  std::vector<float> leaving;    ///< the material about the loop's end, playing on past it
  std::vector<float> arriving;   ///< the material about the loop's start, from before it
  std::vector<float> heard;      ///< as rendered, playing on through the wrap
  FrameRange fade;               ///< where the sides are blended, seen from the wrap; may be empty
  double rho = 0.0;              ///< correlation of the sides that the gains follow
};

/// Everything about one seam. `report` is measured as recorded.
struct SeamStudy {
  model::Piece piece;
  std::string recipe;  ///< recipe_hash() of the piece
  Hearing hearing;
  SeamPicture picture;
  dsp::SeamReport report;
};

/// Seconds on either side of a seam that is reviewed.
inline constexpr double review_side_s = 2.0;

/// Renders a looped piece and studies its seam. Errors: bad_argument (no loop), those of rendering,
/// measuring and hear(), cancelled.
[[nodiscard]] Result<SeamStudy> study_seam(const model::Project& project,
                                           const std::filesystem::path& project_folder,
                                           const model::Piece& piece, const HearingPlan& plan,
                                           JobControl& job);

/// Other loops of a piece's material, best first, on the pass clock. Errors: as
/// find_segment_loops().
[[nodiscard]] Result<std::vector<model::Loop>> find_piece_loops(
    const model::Project& project, const std::filesystem::path& project_folder,
    const model::Piece& piece, JobControl& job);

/// Gives the segment or the fused row of a piece another loop. Errors: not_found.
[[nodiscard]] Result<model::Edit> edit_to_set_loop(const model::Project& project,
                                                   const model::PieceKey& key,
                                                   const model::Loop& loop);

/// Two takes of a seam one after the other, in an order nobody is told before choosing.
struct BlindPair {
  std::shared_ptr<const audio::Clip> clip;  ///< first, 0.6 s of silence, second
  FrameIndex second_from;                   ///< where the second begins
  bool swapped = false;                     ///< the first heard is `b`
};
/// Both at one rate and, where it can be measured, of a's loudness; the order is drawn from `seed`.
/// Errors: cancelled, those of resampling.
[[nodiscard]] Result<BlindPair> blind_pair(const audio::Clip& a, const audio::Clip& b,
                                           std::uint64_t seed, JobControl& job);

}  // namespace fourbeat::work
