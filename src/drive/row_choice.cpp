// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/row_choice.h"

#include <cstdlib>
#include <utility>

namespace fourbeat::drive {

namespace {

double band_distance_kmh(const RowBand& row, double speed_kmh) noexcept {
  if (speed_kmh < row.from_kmh) return row.from_kmh - speed_kmh;
  // The upper end is not in the band: just above it is not quite as near as inside.
  if (speed_kmh >= row.to_kmh) return speed_kmh - row.to_kmh + 1e-9;
  return 0.0;
}

/// Order of preference: 0 the same effort, then the nearest, the harder of two.
int effort_distance(model::Effort row, model::Effort wanted) noexcept {
  const int step = static_cast<int>(row) - static_cast<int>(wanted);
  return 2 * std::abs(step) - (step > 0 ? 1 : 0);
}

/// The nearest row of one condition, -1 where there is none.
int best_row(std::span<const RowBand> rows, double speed_kmh, model::Effort effort,
             model::Condition condition) noexcept {
  int best = -1;
  std::pair<double, int> best_rank;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    if (rows[i].condition != condition) continue;
    const std::pair<double, int> rank{band_distance_kmh(rows[i], speed_kmh),
                                      effort_distance(rows[i].effort, effort)};
    if (best == -1 || rank < best_rank) {
      best = static_cast<int>(i);
      best_rank = rank;
    }
  }
  return best;
}

}  // namespace

RowBand band_of(const model::ChuffRow& row) noexcept {
  return {row.from_kmh, row.to_kmh, row.effort, row.condition};
}

int choose_row(std::span<const RowBand> rows, double speed_kmh, model::Effort effort,
               model::Condition condition) noexcept {
  if (condition != model::Condition::normal) {
    const int row = best_row(rows, speed_kmh, effort, condition);
    if (row != -1 && band_distance_kmh(rows[static_cast<std::size_t>(row)], speed_kmh) == 0.0) {
      return row;
    }
    return choose_row(rows, speed_kmh, effort,
                      condition == model::Condition::heavy_start ? model::Condition::cocks_open
                                                                 : model::Condition::normal);
  }
  return best_row(rows, speed_kmh, effort, model::Condition::normal);
}

}  // namespace fourbeat::drive
