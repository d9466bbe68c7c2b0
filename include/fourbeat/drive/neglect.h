// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/steam.h"

#include <optional>

namespace fourbeat::drive {

/// How long duties leave a driver who does no chore at all: seconds of play from the start, none
/// where it does not come within longest_neglect_s.
struct Neglect {
  std::optional<double> warns_s;    ///< of pressure or of water
  std::optional<double> weakens_s;  ///< the engine pulls less
  std::optional<double> drops_s;    ///< the fire must be dropped
  std::optional<double> stands_s;   ///< it pulls less than 2 %
  bool operator==(const Neglect&) const = default;
};
inline constexpr double longest_neglect_s = 7200.0;

/// Plays duties (on, whatever they say) at pace 1 with the engine worked as `draw` says, its speed
/// falling with the pull. Steps of 0.1 s; some milliseconds. docs/steam.md, section 5.
[[nodiscard]] Neglect neglect(const model::Duties& duties, const Draw& draw);

}  // namespace fourbeat::drive
