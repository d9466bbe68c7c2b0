// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "csv.h"

#include "fourbeat/model/piece.h"
#include "fourbeat/model/project.h"

#include <array>
#include <string_view>
#include <vector>

/// The tables of a bundle.

namespace fourbeat::deliver {

inline constexpr std::array<std::string_view, 10> keys_columns{
    "key",  "label",      "mode",      "direction",    "sound",
    "kind", "begin_file", "hold_file", "release_file", "one_shot_file"};
inline constexpr std::array<std::string_view, 4> cvs_columns{"number", "value", "name", "note"};
inline constexpr std::array<std::string_view, 17> chuffs_columns{
    "row",           "effort",      "from_kmh", "middle_kmh",      "to_kmh",
    "from_rpm",      "middle_rpm",  "to_rpm",   "from_interval_s", "middle_interval_s",
    "to_interval_s", "revolution",  "position", "angle_deg",       "file",
    "condition",     "recorded_kmh"};
/// How many of them bundles of any version have.
inline constexpr std::size_t chuffs_columns_always = 15;

/// Keys by number, then as in the project; files as in the bundle, "" where there is none.
[[nodiscard]] std::vector<CsvRow> keys_table(const model::Project& project,
                                             const std::vector<model::Piece>& pieces);

/// CVs by number, then as in the project.
[[nodiscard]] std::vector<CsvRow> cvs_table(const model::Project& project);

/// One line a chuff or fused loop, in the order of the pieces; rows, revolutions and positions
/// count from 1, and are empty for a loop.
[[nodiscard]] std::vector<CsvRow> chuffs_table(const model::Project& project,
                                               const std::vector<model::Piece>& pieces);

/// A row's speed, wheel turns and beat interval at its bounds and between them.
struct RowFigures {
  struct At {
    double speed_kmh = 0.0;
    double rpm = 0.0;
    double interval_s = 0.0;  ///< infinite at rest
  };
  At from;
  At middle;
  At to;
};
[[nodiscard]] RowFigures row_figures(const model::ChuffRow& row, const model::Engine& engine);

}  // namespace fourbeat::deliver
