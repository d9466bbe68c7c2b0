// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "chuff_rows.h"

#include <map>
#include <vector>

namespace fourbeat::work {

/// Rows for the speeds that the recorded rows of an effort leave out, from rest to the top speed.
/// Each is made from the recorded row below its gap (the one above, at rest): the row's best
/// revolutions, their chuffs no longer than the interval at the new row's middle, tilted and
/// levelled to where the recorded rows' trends over speed lead. One row reaches down to rest; other
/// gaps are cut at the bands' bounds. Speeds that fused rows serve are none. Efforts without a
/// recorded row get none. Errors: those of Renderer, cancelled.
[[nodiscard]] Result<std::vector<model::ChuffRow>> derive_rows(
    const model::Project& project, const std::vector<BandRow>& rows,
    const std::vector<model::ChuffRow>& fused, const std::map<model::Effort, RowTrends>& trends,
    const std::vector<double>& bounds_kmh, const ChuffPlan& plan,
    const model::DecoderProfile* profile, Renderer& renderer, JobControl& job);

}  // namespace fourbeat::work
