// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "hop_rows.h"
#include "loop_drift.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/dsp/loop_finder.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

/// What the parts of find_loops() share.
namespace fourbeat::dsp {

/// What a loop may be.
struct Bounds {
  std::int64_t frames = 0;
  std::int64_t least = 0;
  std::int64_t most = 0;
  double rate_hz = 0.0;
};

/// The material as it is, with its means removed, and what is known of its hops.
struct Searched {
  const audio::Pcm& material;
  const std::vector<std::vector<float>>& channels;
  MaterialHops& hops;
  Bounds bounds;
};

inline constexpr double match_reach_s = 0.02;  ///< how far a loop's end is moved to fit its start

/// 0 to 1: the state first, then what the designer would choose by. An unclean seam's score falls
/// with its worst quotient.
[[nodiscard]] double score_of(const SeamReport& seam, const LoopSpec& loop, const Bounds& bounds);

/// The highest score_of() a loop of about this length and drift can have, times what its drift
/// leaves of it. taken_out_db: drift_size_db() of what is taken out.
[[nodiscard]] double most_score(std::int64_t frames, double taken_out_db, const Bounds& bounds);

/// Drift of level and of tone together, in dB.
[[nodiscard]] double drift_size_db(double level_db, const std::vector<double>& octaves_db);

/// How much of its score a loop keeps in spite of its tell: all up to 8 dB, four fifths from 20 dB.
[[nodiscard]] double calmness(double tell_db);

/// How much of its score a loop keeps for the drift of level and tone left in it, by the larger of
/// the two: all up to 1 dB, half from 10 dB. A drift that is taken out, drift_size_db(), costs 2 %
/// a dB: what needs none is better.
[[nodiscard]] double steadiness(const SeamReport& seam, double taken_out_db);

/// A moment inside a loop that stands out from the rest and does not come again.
struct LoopEvent {
  double time_s = 0.0;
  double over_db = 0.0;
};

/// Why the best of the loops found is not clean. event: one inside it.
[[nodiscard]] std::string why_not_clean(const LoopCandidate& best,
                                        const std::optional<LoopEvent>& event, double rate_hz);

/// The loop with the first crossfade that makes it clean, else with the best one; with none where
/// the sides of every one cancel. correlation: of the waveforms around both ends.
[[nodiscard]] Result<LoopCandidate> best_blend(const Searched& searched, const FrameRange& range,
                                               double correlation, const LoopDrift& drift,
                                               std::uint64_t seed, JobControl& job);

}  // namespace fourbeat::dsp
