// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/chuff_table.h"

#include <cstddef>
#include <cstdint>
#include <span>

/// Which row of a chuff table serves a beat: docs/drive.md, section 6. The one place of this rule.

namespace fourbeat::drive {

/// What a row serves: from (inclusive) to (exclusive).
struct RowBand {
  double from_kmh = 0.0;
  double to_kmh = 0.0;
  model::Effort effort = model::Effort::easy;
  model::Condition condition = model::Condition::normal;
  bool operator==(const RowBand&) const = default;
};

/// The condition of a beat: within the first turns after rest heavy_start or cocks_open by the
/// load, then normal. open_turns and heavy_load: model::Driving's.
[[nodiscard]] constexpr model::Condition condition_of(double turns_since_rest, double load,
                                                      double open_turns, double heavy_load) {
  if (turns_since_rest >= open_turns) return model::Condition::normal;
  return load >= heavy_load ? model::Condition::heavy_start : model::Condition::cocks_open;
}

/// As a row of the table has it.
[[nodiscard]] RowBand band_of(const model::ChuffRow& row) noexcept;

/// The row that serves a beat. In another condition than normal: a row of it whose band holds the
/// speed, at the nearest effort; a heavy start that has none is one with the cocks open; without
/// either the normal rows serve. Of those: one whose band holds the speed at this effort; else at
/// the nearest effort (of two equally near, the harder); else the row whose band is nearest, then
/// the nearest effort. Ties go to the first. Index into `rows`, or -1 when there is none.
[[nodiscard]] int choose_row(std::span<const RowBand> rows, double speed_kmh, model::Effort effort,
                             model::Condition condition = model::Condition::normal) noexcept;

/// How long the loop of a fused row fades in and out.
inline constexpr double fused_fade_s = 0.050;

/// Which of `count` revolutions a row plays in a turn of the wheel: all in turn, counted by the
/// wheel's own turns, so that a change of rows keeps the place of the revolution. turn ≥ 0,
/// count ≥ 1.
[[nodiscard]] constexpr std::size_t revolution_of_turn(std::int64_t turn, std::size_t count) {
  return static_cast<std::size_t>(turn % static_cast<std::int64_t>(count));
}

}  // namespace fourbeat::drive
