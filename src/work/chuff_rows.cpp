// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_rows.h"

#include "chuff_quality.h"

#include <algorithm>
#include <cmath>
#include <map>

namespace fourbeat::work {

namespace {

constexpr double measured_weight = 1e6;  // beside a trend that was not measured there
constexpr std::size_t most_bands = 200;
constexpr double most_level_change_db = 12.0;
constexpr int energy_degree = 2;
constexpr int tilt_degree = 1;

double tenths(double kmh) {
  return std::round(kmh * 10.0) / 10.0;
}

bool is_unusable(const RevolutionQuality& quality) {
  return std::find(quality.marks.begin(), quality.marks.end(), model::MarkKind::unusable) !=
         quality.marks.end();
}

/// The candidates of one band, best first; as many usable ones as the plan may want, and more.
void add_candidates(const model::Project& project, const std::vector<Turn>& turns,
                    const std::vector<std::size_t>& inside, const UsualPattern& usual,
                    const CutRule& rule, const ChuffPlan& plan, BandRow& row) {
  std::vector<std::pair<RevolutionQuality, std::size_t>> judged;
  judged.reserve(inside.size());
  for (const std::size_t index : inside) {
    judged.emplace_back(
        judge_turn(project, turns, index, usual, {row.band_from_kmh, row.band_to_kmh}), index);
  }
  std::stable_sort(judged.begin(), judged.end(), [](const auto& a, const auto& b) {
    const bool a_unusable = is_unusable(a.first);
    const bool b_unusable = is_unusable(b.first);
    return a_unusable != b_unusable ? b_unusable : a.first.total > b.first.total;
  });
  const auto wanted = static_cast<std::size_t>(std::max(plan.candidates, plan.revolutions_most));
  for (auto& [quality, index] : judged) {
    if (row.candidates.size() == wanted) break;
    const Turn& turn = turns[index];
    std::optional<model::Revolution> revolution = cut_turn(turn, rule);
    if (!revolution) continue;  // a beat at the very start of a take has no room for its lead
    if (!is_unusable(quality)) ++row.usable;
    row.candidates.push_back({turn.take->tracked->take, turn.take->beats()[turn.first_beat].frame,
                              turn.speed_kmh, std::move(quality), std::move(*revolution)});
  }
}

/// What the rows of one effort serve: their bands, but beyond the speeds recorded only as far as
/// the plan lets them.
void set_bounds(std::vector<BandRow>& rows, std::size_t first, const ChuffPlan& plan) {
  for (std::size_t i = first; i < rows.size(); ++i) {
    BandRow& row = rows[i];
    const bool meets_below = i > first && rows[i - 1].band + 1 == row.band;
    const bool meets_above = i + 1 < rows.size() && rows[i + 1].band == row.band + 1;
    row.from_kmh = row.band_from_kmh;
    row.to_kmh = row.band_to_kmh;
    const double reach_down_kmh = row.slowest_kmh / plan.tolerance_ratio;
    const double reach_up_kmh = row.fastest_kmh * plan.tolerance_ratio;
    if (!meets_below && reach_down_kmh > row.from_kmh * plan.tolerance_ratio) {
      row.from_kmh = std::floor(reach_down_kmh * 10.0) / 10.0;
    }
    if (!meets_above && reach_up_kmh * plan.tolerance_ratio < row.to_kmh) {
      row.to_kmh = std::ceil(reach_up_kmh * 10.0) / 10.0;
    }
  }
}

}  // namespace

std::size_t band_of(const std::vector<double>& bounds_kmh, double speed_kmh) {
  const auto above = std::upper_bound(bounds_kmh.begin(), bounds_kmh.end(), speed_kmh);
  const auto band = std::max<std::ptrdiff_t>(0, above - bounds_kmh.begin() - 1);
  return std::min(static_cast<std::size_t>(band), bounds_kmh.size() - 2);
}

std::vector<double> band_bounds_kmh(const ChuffPlan& plan, double slowest_kmh, double top_kmh) {
  const double low = std::clamp(slowest_kmh, 0.1, 0.99 * top_kmh);
  const double ratio = plan.rows > 0 ? std::pow(top_kmh / low, 1.0 / plan.rows) : plan.band_ratio;
  std::vector<double> bounds{tenths(top_kmh)};
  double bound = top_kmh;
  for (std::size_t k = 1; k <= most_bands; ++k) {
    if (plan.rows > 0 ? k > static_cast<std::size_t>(plan.rows) : bound <= low) break;
    bound = top_kmh * std::pow(ratio, -static_cast<double>(k));
    const double rounded = tenths(bound);
    if (rounded < bounds.back() && rounded > 0.0) bounds.push_back(rounded);
  }
  if (bounds.size() == 1) bounds.push_back(0.5 * bounds.front());
  std::reverse(bounds.begin(), bounds.end());
  return bounds;
}

Result<std::vector<BandRow>> propose_rows(const model::Project& project,
                                          const std::vector<Turn>& turns,
                                          const std::vector<double>& bounds_kmh,
                                          const ChuffPlan& plan,
                                          const model::DecoderProfile* profile, JobControl& job) {
  const auto n = static_cast<std::size_t>(project.engine.beats_per_rev);
  std::vector<BandRow> rows;
  for (const model::Effort effort :
       {model::Effort::drifting, model::Effort::easy, model::Effort::hard}) {
    std::vector<const Turn*> of_effort;
    std::map<std::size_t, std::vector<std::size_t>> bands;
    for (std::size_t i = 0; i < turns.size(); ++i) {
      if (turns[i].effort != effort) continue;
      of_effort.push_back(&turns[i]);
      bands[band_of(bounds_kmh, turns[i].speed_kmh)].push_back(i);
    }
    const UsualPattern usual = usual_pattern(of_effort, n);
    const std::size_t first = rows.size();
    for (const auto& [band, inside] : bands) {
      if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
      BandRow row;
      row.effort = effort;
      row.band = band;
      row.band_from_kmh = bounds_kmh[band];
      row.band_to_kmh = bounds_kmh[band + 1];
      const auto [slowest, fastest] = std::minmax_element(
          inside.begin(), inside.end(),
          [&](std::size_t a, std::size_t b) { return turns[a].speed_kmh < turns[b].speed_kmh; });
      row.slowest_kmh = turns[*slowest].speed_kmh;
      row.fastest_kmh = turns[*fastest].speed_kmh;
      add_candidates(project, turns, inside, usual, cut_rule(project, profile, row.band_to_kmh),
                     plan, row);
      if (row.usable > 0) rows.push_back(std::move(row));
    }
    set_bounds(rows, first, plan);
  }
  return rows;
}

double energy_in_order_db(const std::map<model::Effort, RowTrends>& trends, model::Effort effort,
                          double speed_kmh) {
  struct Pool {
    double energy_db = 0.0;
    double weight = 0.0;
    model::Effort hardest = model::Effort::drifting;
  };
  std::vector<Pool> pools;  // efforts that have one energy, from drifting up
  for (const auto& [one, of_effort] : trends) {
    const double outside = 1.0 + of_effort.energy_db.octaves_outside(speed_kmh);
    Pool pool{of_effort.energy_db.at(speed_kmh),
              outside == 1.0 ? measured_weight : 1.0 / (outside * outside), one};
    while (!pools.empty() && pools.back().energy_db > pool.energy_db) {
      const Pool& easier = pools.back();
      const double weight = easier.weight + pool.weight;
      pool.energy_db = (easier.weight * easier.energy_db + pool.weight * pool.energy_db) / weight;
      pool.weight = weight;
      pools.pop_back();
    }
    pools.push_back(pool);
  }
  const auto found = std::find_if(pools.begin(), pools.end(),
                                  [&](const Pool& pool) { return pool.hardest >= effort; });
  return found->energy_db;
}

Result<std::map<model::Effort, RowTrends>> match_levels(std::vector<BandRow>& rows,
                                                        Renderer& renderer, JobControl& job) {
  struct Points {
    std::vector<TrendPoint> energy;
    std::vector<TrendPoint> tilt;
  };
  std::vector<std::vector<double>> energies;
  std::map<model::Effort, Points> points;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    job.progress(static_cast<double>(r) / static_cast<double>(rows.size()), "matching levels");
    std::vector<double>& of_row = energies.emplace_back();
    for (std::size_t c = 0; c < rows[r].candidates.size(); ++c) {
      if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
      const RevolutionCandidate& candidate = rows[r].candidates[c];
      const Result<RevolutionSound> sound = measure_revolution(candidate.revolution, 0.0, renderer);
      if (!sound) return sound.error();
      of_row.push_back(sound->energy_db);
      if (c >= rows[r].usable) continue;
      const auto take = static_cast<std::size_t>(candidate.take.value());
      Points& of_effort = points[rows[r].effort];
      of_effort.energy.push_back({candidate.speed_kmh, sound->energy_db, take});
      of_effort.tilt.push_back(
          {candidate.speed_kmh, dsp::spectral_tilt_db_per_octave(sound->bands_db), take});
    }
  }
  std::map<model::Effort, RowTrends> trends;
  for (const auto& [effort, of_effort] : points) {
    trends.emplace(effort, RowTrends{SpeedTrend(of_effort.energy, energy_degree),
                                     SpeedTrend(of_effort.tilt, tilt_degree)});
  }
  for (std::size_t r = 0; r < rows.size(); ++r) {
    BandRow& row = rows[r];
    const double wanted_db =
        trends.at(row.effort).energy_db.at(std::sqrt(row.band_from_kmh * row.band_to_kmh));
    for (std::size_t c = 0; c < row.candidates.size(); ++c) {
      const double gain_db =
          std::clamp(wanted_db - energies[r][c], -most_level_change_db, most_level_change_db);
      for (model::Chuff& chuff : row.candidates[c].revolution.chuffs)
        chuff.gain_db = std::round(gain_db * 100.0) / 100.0;
    }
  }
  return trends;
}

}  // namespace fourbeat::work
