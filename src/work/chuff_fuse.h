// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "chuff_rows.h"

#include <map>
#include <vector>

/// Rows of beats too fast to stand apart.

namespace fourbeat::work {

/// A stretch of a take whose beats no longer stand apart, within one band.
struct FastRun {
  const HeardTake* take = nullptr;
  FrameRange range;  ///< of the take
  double speed_kmh = 0.0;
  model::Effort effort = model::Effort::easy;
  std::size_t band = 0;
};

/// Finds the longest such stretch of each band that lies above every band, at its effort, whose
/// beats stand apart: of the tracker's fused stretches, and of the rows whose mean beat rises and
/// falls by less than the plan's fuse_below_db; those rows are taken out of `rows`.
[[nodiscard]] std::vector<FastRun> take_fused_bands(const std::vector<HeardTake>& takes,
                                                    const std::vector<Turn>& turns,
                                                    const model::Project& project,
                                                    const std::vector<double>& bounds_kmh,
                                                    const ChuffPlan& plan,
                                                    std::vector<BandRow>& rows);

/// A row with a loop of each stretch, best of dsp::find_loops(); from its band's lower bound up to
/// the next, the last up to the top speed. Its level is that of the chuffs' trend at its speed,
/// coming at its rate of beats. A stretch in which no loop is found makes no row.
/// Errors: those of Renderer and find_loops, cancelled.
[[nodiscard]] Result<std::vector<model::ChuffRow>> fused_rows(
    const model::Project& project, const std::vector<FastRun>& runs,
    const std::map<model::Effort, RowTrends>& trends, const std::vector<double>& bounds_kmh,
    Renderer& renderer, JobControl& job);

}  // namespace fourbeat::work
