// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"

#include <compare>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::model {

/// PieceKey::revolution of the loop of a fused row.
inline constexpr int fused_revolution = -1;
/// The frequency that a tilt leaves as it is.
inline constexpr double tilt_pivot_hz = 1000.0;

/// Names one stored piece of sound of a set: a segment that a sound plays, one chuff, or the loop
/// of a fused row.
struct PieceKey {
  Id<Segment> segment;  ///< set for a segment; then the rest is unused
  Id<ChuffRow> row;
  int revolution = 0;  ///< index in ChuffRow::revolutions; fused_revolution for the row's loop
  int position = 0;    ///< index in Revolution::chuffs
  // NOLINTNEXTLINE(modernize-use-nullptr): false alarm on a defaulted <=>
  constexpr auto operator<=>(const PieceKey&) const = default;
};

/// One stored piece: where it comes from and how it is treated. A segment shared by several
/// sounds is one piece.
struct Piece {
  PieceKey key;
  std::string name;  ///< ours, safe in a bundle, unique in the set, e.g. "whistle_long-hold",
                     ///< "chuff-easy-020-r1-2"
  Category category = Category::other;
  Source source;
  FrameRange range;
  double gain_db = 0.0;      ///< baked into the rendered samples (segment's or chuff's)
  double playback_db = 0.0;  ///< played on top of it (loudest of its sounds', or the table's)
  FrameCount fade_in_frames;
  FrameCount fade_out_frames;
  std::optional<Loop> loop;
  double tilt_db_per_octave = 0.0;  ///< after the clean chain, about tilt_pivot_hz
  double importance = 1.0;          ///< the largest of its sounds'
  int priority = 50;                ///< the largest of its sounds'
  bool operator==(const Piece&) const = default;
};

/// Every piece the set stores: segments in the order of the sounds that use them, then chuffs in
/// row order. Sounds with a segment that does not exist contribute nothing for it. Deterministic.
[[nodiscard]] std::vector<Piece> list_pieces(const Project& project);

/// The piece of one segment, used by a sound or not.
[[nodiscard]] Piece piece_of(const Segment& segment);

/// The pieces of list_pieces() that have a loop, in its order: the seams that want a verdict.
[[nodiscard]] std::vector<Piece> looped_pieces(const Project& project);

/// SHA-256 of the recipe of what is heard: the hashes of the takes, channels, range, mix, clean
/// chain, loop, fades, gain, and the version of the rendering method.
[[nodiscard]] std::string recipe_hash(const Project& project, const Piece& piece);

/// The version of the rendering method; raise it whenever rendered samples change.
inline constexpr int render_method_version = 1;

/// The verdict in force on the seam of a piece (a segment's or a fused row's): the last one whose
/// recipe still matches, or null.
[[nodiscard]] const Verdict* verdict_in_force(const Project& project, const Piece& piece);
/// The last verdict on a piece's seam, of whatever recipe, or null: in force or lapsed.
[[nodiscard]] const Verdict* last_verdict(const Project& project, const PieceKey& key);
/// True when a sound stored at that rate and depth is stored below what its verdict was heard at. A
/// verdict heard as recorded (rate and depth 0) is above every stored form.
[[nodiscard]] bool is_above(const Verdict& verdict, int sample_rate_hz, int bits);
/// verdict_in_force() of a segment's piece.
[[nodiscard]] const Verdict* verdict_in_force(const Project& project, const Segment& segment);

}  // namespace fourbeat::model
