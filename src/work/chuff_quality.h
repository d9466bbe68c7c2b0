// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "chuff_turns.h"

#include "fourbeat/work/chuff_quality.h"

#include <vector>

namespace fourbeat::work {

/// What is usual among the turns of one effort.
struct UsualPattern {
  std::vector<double> levels_db;   ///< median of Turn::levels_db, one a position
  std::vector<double> angles_deg;  ///< likewise
};
[[nodiscard]] UsualPattern usual_pattern(const std::vector<const Turn*>& turns, std::size_t n);

/// The band of a row that a turn is judged for.
struct Band {
  double from_kmh = 0.0;
  double to_kmh = 0.0;
};

/// Judges one turn. `turns`: all turns, in the order of turns_of(), and `index` its own; its
/// neighbours are those of its take within four places.
[[nodiscard]] RevolutionQuality judge_turn(const model::Project& project,
                                           const std::vector<Turn>& turns, std::size_t index,
                                           const UsualPattern& usual, const Band& band);

}  // namespace fourbeat::work
