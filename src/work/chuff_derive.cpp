// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_derive.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::work {

namespace {

constexpr double most_tilt_db = 6.0;

/// A row to be made, and the recorded one it is made from.
struct Wanted {
  double from_kmh = 0.0;
  double to_kmh = 0.0;
  double middle_kmh = 0.0;
  const BandRow* source = nullptr;
  const BandRow* beyond = nullptr;  ///< next to it; lends revolutions where the source has too few
};

double middle_kmh(const BandRow& row) {
  return std::sqrt(row.band_from_kmh * row.band_to_kmh);
}

/// Cuts a gap at the bands' bounds; pieces narrower than the tolerance join their neighbour.
void add_gap(const Wanted& gap, const std::vector<double>& bounds_kmh, const ChuffPlan& plan,
             std::vector<Wanted>& wanted) {
  double reached_kmh = gap.from_kmh;
  const auto add = [&](double to_kmh) {
    wanted.push_back(
        {reached_kmh, to_kmh, std::sqrt(reached_kmh * to_kmh), gap.source, gap.beyond});
    reached_kmh = to_kmh;
  };
  for (const double bound_kmh : bounds_kmh) {
    if (bound_kmh >= reached_kmh * plan.tolerance_ratio &&
        bound_kmh * plan.tolerance_ratio <= gap.to_kmh) {
      add(bound_kmh);
    }
  }
  if (reached_kmh < gap.to_kmh) add(gap.to_kmh);
}

/// The gaps that the rows of one effort, [first, last), leave.
std::vector<Wanted> gaps_of(const std::vector<BandRow>& rows, std::size_t first, std::size_t last,
                            double top_kmh, const std::vector<double>& bounds_kmh,
                            const ChuffPlan& plan) {
  std::vector<Wanted> wanted;
  const BandRow& lowest = rows[first];
  if (lowest.from_kmh > 0.0) {
    const double ratio = lowest.band_to_kmh / lowest.band_from_kmh;
    const BandRow* beyond = first + 1 < last ? &rows[first + 1] : nullptr;
    wanted.push_back({0.0, lowest.from_kmh, lowest.from_kmh / std::sqrt(ratio), &lowest, beyond});
  }
  for (std::size_t i = first; i < last; ++i) {
    const double to_kmh = i + 1 < last ? rows[i + 1].from_kmh : top_kmh;
    if (to_kmh > rows[i].to_kmh) {
      const BandRow* beyond = i > first ? &rows[i - 1] : nullptr;
      add_gap({rows[i].to_kmh, to_kmh, 0.0, &rows[i], beyond}, bounds_kmh, plan, wanted);
    }
  }
  return wanted;
}

/// Lets each chuff end as early as the beats come at the middle of the row.
void shorten_tails(model::Revolution& revolution, const Wanted& wanted, CutRule rule, double rate) {
  rule.may_overlap = false;
  rule.top_kmh = wanted.middle_kmh;
  shorten_chuffs(revolution, rule, rate);
}

/// Where the beats come slower than they were recorded, silence follows a chuff where the next one
/// was: its tail dies away over half of it, and does not end at once.
void let_tails_die(model::Revolution& revolution) {
  for (model::Chuff& chuff : revolution.chuffs) {
    chuff.fade_out_frames =
        std::max(chuff.fade_out_frames, FrameCount(chuff.range.length().value() / 2));
  }
}

/// The revolutions a row is made of: the source's, and as many of the row beyond as a row should
/// have.
std::vector<const RevolutionCandidate*> candidates_for(const Wanted& wanted,
                                                       const ChuffPlan& plan) {
  std::vector<const RevolutionCandidate*> candidates;
  const auto add = [&](const BandRow& row, int up_to) {
    for (std::size_t c = 0; c < row.usable && std::cmp_less(candidates.size(), up_to); ++c)
      candidates.push_back(&row.candidates[c]);
  };
  add(*wanted.source, plan.revolutions_most);
  if (wanted.beyond != nullptr) add(*wanted.beyond, plan.revolutions_least);
  return candidates;
}

Result<model::ChuffRow> derive_row(const model::Project& project, const Wanted& wanted,
                                   const std::map<model::Effort, RowTrends>& trends,
                                   const ChuffPlan& plan, const model::DecoderProfile* profile,
                                   Renderer& renderer) {
  model::ChuffRow row;
  row.effort = wanted.source->effort;
  row.from_kmh = wanted.from_kmh;
  row.to_kmh = wanted.to_kmh;
  const CutRule rule = cut_rule(project, profile, wanted.to_kmh);
  double tilt_db = 0.0;
  const std::vector<const RevolutionCandidate*> candidates = candidates_for(wanted, plan);
  for (const RevolutionCandidate* candidate : candidates) {
    model::Revolution revolution = candidate->revolution;
    const double rate = clock_rate_hz(project, revolution.source);
    for (model::Chuff& chuff : revolution.chuffs)
      chuff.gain_db = 0.0;
    shorten_tails(revolution, wanted, rule, rate);
    shorten_chuffs(revolution, rule, rate);
    if (wanted.middle_kmh < middle_kmh(*wanted.source)) let_tails_die(revolution);
    const Result<RevolutionSound> sound = measure_revolution(revolution, 0.0, renderer);
    if (!sound) return sound.error();
    tilt_db +=
        dsp::spectral_tilt_db_per_octave(sound->bands_db) / static_cast<double>(candidates.size());
    row.revolutions.push_back(std::move(revolution));
  }
  tilt_db = std::clamp(trends.at(row.effort).tilt_db_per_octave.at(wanted.middle_kmh) - tilt_db,
                       -most_tilt_db, most_tilt_db);
  const double energy_db = energy_in_order_db(trends, row.effort, wanted.middle_kmh);
  model::Derived derived;
  derived.recorded_kmh = std::round(middle_kmh(*wanted.source) * 10.0) / 10.0;
  derived.tilt_db_per_octave = std::round(tilt_db * 100.0) / 100.0;
  for (model::Revolution& revolution : row.revolutions) {
    const Result<RevolutionSound> sound =
        measure_revolution(revolution, derived.tilt_db_per_octave, renderer);
    if (!sound) return sound.error();
    const double gain_db = std::clamp(energy_db - sound->energy_db, -most_gain_db, most_gain_db);
    for (model::Chuff& chuff : revolution.chuffs)
      chuff.gain_db = std::round(gain_db * 100.0) / 100.0;
  }
  row.derived = derived;
  return row;
}

}  // namespace

Result<std::vector<model::ChuffRow>> derive_rows(
    const model::Project& project, const std::vector<BandRow>& rows,
    const std::vector<model::ChuffRow>& fused, const std::map<model::Effort, RowTrends>& trends,
    const std::vector<double>& bounds_kmh, const ChuffPlan& plan,
    const model::DecoderProfile* profile, Renderer& renderer, JobControl& job) {
  std::vector<model::ChuffRow> derived;
  for (std::size_t first = 0; first < rows.size();) {
    std::size_t last = first;
    while (last < rows.size() && rows[last].effort == rows[first].effort)
      ++last;
    double top_kmh = bounds_kmh.back();
    for (const model::ChuffRow& row : fused) {
      if (row.effort == rows[first].effort) top_kmh = std::min(top_kmh, row.from_kmh);
    }
    for (const Wanted& wanted : gaps_of(rows, first, last, top_kmh, bounds_kmh, plan)) {
      if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
      Result<model::ChuffRow> row = derive_row(project, wanted, trends, plan, profile, renderer);
      if (!row) return row.error();
      derived.push_back(std::move(*row));
    }
    first = last;
  }
  return derived;
}

}  // namespace fourbeat::work
