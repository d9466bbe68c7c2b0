// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/work/produce.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::work {

/// What one sound, or all chuffs together, take of a decoder. A segment that several sounds play is
/// stored once and counts for the first of them.
struct FitGroup {
  Id<model::Sound> sound;           ///< unset: the chuff table
  std::string name;                 ///< the sound's; "" for the chuff table
  std::vector<std::size_t> pieces;  ///< indices into FittedSet::set.pieces
  int least_rate_hz = 0;
  int greatest_rate_hz = 0;
  int least_bits = 0;
  int greatest_bits = 0;
  std::int64_t bytes = 0;
  std::optional<double> worst_loss_db;  ///< of its pieces; none where nothing is lost
  double importance = 1.0;              ///< as the project has it
  double sounding_s = 0.0;              ///< in the shipped run cards, its pieces added up
  bool operator==(const FitGroup&) const = default;
};

/// The groups of a fitted set, most bytes first, equal ones in the set's order. Only those with at
/// least one piece.
[[nodiscard]] std::vector<FitGroup> fit_groups(const model::Project& project,
                                               const FittedSet& fitted);

/// A group as the decoder stores it, its pieces one after another at their original levels, each
/// loop once. Errors: bad_argument (no piece), cancelled, those of audio::resample().
[[nodiscard]] Result<audio::Clip> stored_clip(const FittedSet& fitted, const FitGroup& group,
                                              JobControl& job);

}  // namespace fourbeat::work
