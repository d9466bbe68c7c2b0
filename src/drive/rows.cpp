// SPDX-License-Identifier: GPL-3.0-or-later
#include "rows.h"

#include <cstdlib>
#include <utility>

namespace fourbeat::drive {

namespace {

double band_distance_kmh(const ImageRow& row, double speed_kmh) noexcept {
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

}  // namespace

int choose_row(std::span<const ImageRow> rows, double speed_kmh, model::Effort effort) noexcept {
  int best = none;
  std::pair<double, int> best_rank;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const std::pair<double, int> rank{band_distance_kmh(rows[i], speed_kmh),
                                      effort_distance(rows[i].effort, effort)};
    if (best == none || rank < best_rank) {
      best = static_cast<int>(i);
      best_rank = rank;
    }
  }
  return best;
}

const ImagePart* chuff_of(const ImageRow& row, std::int64_t turn, std::size_t position) noexcept {
  if (row.revolutions.empty()) return nullptr;
  const auto count = static_cast<std::int64_t>(row.revolutions.size());
  const auto& chuffs = row.revolutions[static_cast<std::size_t>(turn % count)];
  if (position >= chuffs.size() || chuffs[position].clip == none) return nullptr;
  return &chuffs[position];
}

}  // namespace fourbeat::drive
