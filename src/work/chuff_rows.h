// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "chuff_cut.h"
#include "chuff_turns.h"
#include "speed_trend.h"

#include "fourbeat/work/chuff_plan.h"
#include "fourbeat/work/chuff_quality.h"

#include <cstddef>
#include <map>
#include <vector>

/// The rows that recorded turns are worth.

namespace fourbeat::work {

/// The most by which a chuff or a fused loop is made louder or quieter to fit its row.
inline constexpr double most_gain_db = 20.0;

/// A row in the making: what was recorded in one band of speed at one effort.
struct BandRow {
  model::Effort effort = model::Effort::easy;
  std::size_t band = 0;  ///< index of its band
  double band_from_kmh = 0.0;
  double band_to_kmh = 0.0;
  double from_kmh = 0.0;  ///< what it serves
  double to_kmh = 0.0;
  double slowest_kmh = 0.0;  ///< of the turns recorded
  double fastest_kmh = 0.0;
  std::vector<RevolutionCandidate> candidates;  ///< best first, cut for the row, not yet levelled
  std::size_t usable = 0;                       ///< how many of them may be chosen
};

/// Bounds of the bands, ascending in tenths of a km/h up to the top speed, from at or below
/// slowest_kmh.
[[nodiscard]] std::vector<double> band_bounds_kmh(const ChuffPlan& plan, double slowest_kmh,
                                                  double top_kmh);

/// The band that a speed lies in, the first or last where it lies outside.
[[nodiscard]] std::size_t band_of(const std::vector<double>& bounds_kmh, double speed_kmh);

/// The rows of all efforts, by effort and speed, each with its candidates; rows without a usable
/// one are left out. Errors: cancelled.
[[nodiscard]] Result<std::vector<BandRow>> propose_rows(const model::Project& project,
                                                        const std::vector<Turn>& turns,
                                                        const std::vector<double>& bounds_kmh,
                                                        const ChuffPlan& plan,
                                                        const model::DecoderProfile* profile,
                                                        JobControl& job);

/// How the sound of one effort's chuffs follows speed.
struct RowTrends {
  SpeedTrend energy_db;           ///< K-weighted energy of a chuff
  SpeedTrend tilt_db_per_octave;  ///< slope of its spectrum
};

/// The energy of an effort's chuffs at a speed, in dB, for a row that is not recorded: its trend's,
/// but that harder work is never quieter than easier (ours). Where trends cross they are brought
/// together (isotonic regression by pooling neighbours, Ayer et al., Ann. Math. Statist. 26, 641,
/// 1955, from memory): to one that was measured at this speed, else the nearer its speeds the more.
/// effort must have a trend.
[[nodiscard]] double energy_in_order_db(const std::map<model::Effort, RowTrends>& trends,
                                        model::Effort effort, double speed_kmh);

/// Matches levels: at each effort a smooth trend over speed is laid through the energies of the
/// rows' best candidates, and each candidate is brought to the trend in its row's middle, all its
/// chuffs by one gain. Returns the trends. Errors: those of Renderer, cancelled.
[[nodiscard]] Result<std::map<model::Effort, RowTrends>> match_levels(std::vector<BandRow>& rows,
                                                                      Renderer& renderer,
                                                                      JobControl& job);

/// How many revolutions the rows of the plan's condition may keep: the plan's least, or more, up to
/// its most, where the set still fits the decoder in the encoding that it fits in with the least.
[[nodiscard]] int revolutions_a_row(const model::Project& project,
                                    const std::vector<model::ChuffRow>& rows, const ChuffPlan& plan,
                                    const model::DecoderProfile* profile);

}  // namespace fourbeat::work
