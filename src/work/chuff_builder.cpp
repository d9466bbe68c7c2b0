// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/chuff_builder.h"

#include "bounds.h"
#include "chuff_derive.h"
#include "chuff_fuse.h"
#include "chuff_rows.h"

#include "fourbeat/work/produce.h"

#include <fmt/format.h>

#include <algorithm>
#include <iterator>
#include <map>
#include <set>
#include <utility>

namespace fourbeat::work {

namespace {

/// A fused row that plays what one of the old rows plays is that row still, and keeps the verdict
/// on its loop.
void keep_fused_ids(const std::vector<model::ChuffRow>& old, const ChuffPlan& plan,
                    std::vector<model::ChuffRow>& rows) {
  std::set<Id<model::ChuffRow>> kept;
  for (model::ChuffRow& row : rows) {
    if (!row.fused) continue;
    const auto same = std::find_if(old.begin(), old.end(), [&](const model::ChuffRow& one) {
      return one.condition == plan.condition && one.effort == row.effort &&
             one.fused == row.fused && kept.count(one.id) == 0;
    });
    if (same == old.end()) continue;
    row.id = same->id;
    kept.insert(row.id);
  }
}

/// Puts the rows into the table, by effort and speed; rows of other conditions stay behind them.
void fill_table(std::vector<BandRow> rows, std::vector<model::ChuffRow> others,
                const ChuffPlan& plan, ChuffBuild& build) {
  struct Entry {
    model::ChuffRow row;
    std::vector<RevolutionCandidate> candidates;
  };
  std::vector<Entry> entries;
  for (BandRow& row : rows) {
    Entry entry;
    entry.row.effort = row.effort;
    entry.row.from_kmh = row.from_kmh;
    entry.row.to_kmh = row.to_kmh;
    const std::size_t count = std::min(row.usable, static_cast<std::size_t>(plan.revolutions_most));
    for (std::size_t c = 0; c < count; ++c)
      entry.row.revolutions.push_back(row.candidates[c].revolution);
    entry.candidates = std::move(row.candidates);
    entries.push_back(std::move(entry));
  }
  keep_fused_ids(build.table.rows, plan, others);
  for (model::ChuffRow& row : others)
    entries.push_back({std::move(row), {}});
  std::stable_sort(entries.begin(), entries.end(), [](const Entry& a, const Entry& b) {
    return std::pair(a.row.effort, a.row.from_kmh) < std::pair(b.row.effort, b.row.from_kmh);
  });
  std::vector<model::ChuffRow> kept;
  for (model::ChuffRow& row : build.table.rows) {
    if (row.condition != plan.condition) kept.push_back(std::move(row));
  }
  build.table.rows.clear();
  for (Entry& entry : entries) {
    entry.row.condition = plan.condition;
    if (!entry.candidates.empty()) {
      build.candidates.push_back({build.table.rows.size(), std::move(entry.candidates)});
    }
    build.table.rows.push_back(std::move(entry.row));
  }
  for (model::ChuffRow& row : kept)
    build.table.rows.push_back(std::move(row));
}

}  // namespace

Status check_plan(const ChuffPlan& plan) {
  const auto least = static_cast<double>(plan.revolutions_least);
  return check_bounds({{"band_ratio", plan.band_ratio, 1.05, 2},
                       {"rows", static_cast<double>(plan.rows), 0, 40},
                       {"revolutions_least", least, 1, 16},
                       {"revolutions_most", static_cast<double>(plan.revolutions_most), least, 16},
                       {"tolerance_ratio", plan.tolerance_ratio, 1, 1.5},
                       {"candidates", static_cast<double>(plan.candidates), 1, 100},
                       {"fuse_below_db", plan.fuse_below_db, 0, 12}});
}

Result<ChuffBuild> build_chuffs(const model::Project& project,
                                const std::filesystem::path& project_folder,
                                const std::vector<TrackedTake>& takes,
                                const model::DecoderProfile* profile, const ChuffPlan& plan,
                                JobControl& job) {
  if (const Status checked = check_plan(plan); !checked) return checked.error();
  ChuffBuild build;
  for (const TrackedTake& tracked : takes) {
    if (tracked.chuff_source) build.beats += static_cast<int>(tracked.track.beats.size());
  }
  Result<std::vector<HeardTake>> heard =
      hear_takes(project, project_folder, takes, project.chuffs.lead_ms, job);
  if (!heard) return heard.error();
  align_places(*heard, project.engine);
  const std::vector<Turn> turns = turns_of(*heard, project.engine);
  build.revolutions = static_cast<int>(turns.size());
  const auto n = static_cast<std::size_t>(project.engine.beats_per_rev);
  if (turns.empty()) {
    return Error{ErrorCode::too_short,
                 {},
                 {},
                 fmt::format("{} beats and no whole revolution of {}", build.beats, n),
                 "give a take with a steadier or longer run"};
  }
  build.measured_angles_deg = measure_angles(turns, n);
  model::Project planned = project;
  const bool sets_angles =
      project.engine.beat_angles_deg.empty() && !build.measured_angles_deg.empty();
  if (sets_angles) planned.engine.beat_angles_deg = build.measured_angles_deg;

  const auto slowest =
      std::min_element(turns.begin(), turns.end(),
                       [](const Turn& a, const Turn& b) { return a.speed_kmh < b.speed_kmh; });
  const std::vector<double> bounds_kmh =
      band_bounds_kmh(plan, slowest->speed_kmh, project.engine.top_speed_kmh);
  Result<std::vector<BandRow>> rows = propose_rows(planned, turns, bounds_kmh, plan, profile, job);
  if (!rows) return rows.error();
  Renderer renderer(planned, project_folder);
  const std::vector<FastRun> fast =
      take_fused_bands(*heard, turns, planned, bounds_kmh, plan, *rows);
  const Result<std::map<model::Effort, RowTrends>> trends = match_levels(*rows, renderer, job);
  if (!trends) return trends.error();
  Result<std::vector<model::ChuffRow>> others =
      fused_rows(planned, fast, *trends, bounds_kmh, renderer, job);
  if (!others) return others.error();
  if (plan.derive && plan.condition == model::Condition::normal) {
    Result<std::vector<model::ChuffRow>> derived =
        derive_rows(planned, *rows, *others, *trends, bounds_kmh, plan, profile, renderer, job);
    if (!derived) return derived.error();
    std::move(derived->begin(), derived->end(), std::back_inserter(*others));
  }
  if (rows->empty() && others->empty()) {
    return Error{ErrorCode::too_short,
                 {},
                 {},
                 fmt::format("all {} whole revolutions are marked unusable", turns.size()),
                 "give another take, or take the marks away"};
  }
  build.table = project.chuffs;
  fill_table(std::move(*rows), std::move(*others), plan, build);
  const auto most =
      static_cast<std::size_t>(revolutions_a_row(planned, build.table.rows, plan, profile));
  for (model::ChuffRow& row : build.table.rows) {
    if (row.condition == plan.condition && row.revolutions.size() > most) {
      row.revolutions.resize(most);
    }
  }
  if (sets_angles) build.edits.emplace_back(model::SetEngine{planned.engine});
  build.edits.emplace_back(model::SetChuffTable{build.table});
  return build;
}

Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                  const std::filesystem::path& project_folder,
                                  const std::vector<Id<model::Take>>& added,
                                  const model::DecoderProfile* profile, JobControl& job,
                                  const ChuffPlan& plan) {
  std::set<Id<model::Take>> ids(added.begin(), added.end());
  for (const Id<model::Take> id : takes_of_table(project.chuffs, plan.condition))
    ids.insert(id);
  std::vector<TrackedTake> takes;
  for (const Id<model::Take> id : ids) {
    Result<TrackedTake> tracked = track_take(project, project_folder, id, job);
    if (!tracked) return tracked.error();
    takes.push_back(std::move(*tracked));
  }
  const model::EffortCalibration effort = judge_takes(project, takes);
  Result<ChuffBuild> build = build_chuffs(project, project_folder, takes, profile, plan, job);
  if (build) build->effort = effort;
  return build;
}

Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                  const std::filesystem::path& project_folder,
                                  const std::vector<Id<model::Take>>& added, JobControl& job,
                                  const ChuffPlan& plan) {
  if (project.decoder.empty()) {
    return refresh_chuffs(project, project_folder, added, nullptr, job, plan);
  }
  const Result<model::DecoderProfile> profile = profile_of(project, "");
  if (!profile) return profile.error();
  return refresh_chuffs(project, project_folder, added, &*profile, job, plan);
}

Result<model::Edit> use_candidate(const model::Project& project, Id<model::ChuffRow> id,
                                  std::size_t revolution, const RevolutionCandidate& candidate) {
  const model::ChuffRow* row = model::find(project, id);
  if (row == nullptr) {
    return Error{ErrorCode::not_found, {}, {}, fmt::format("no chuff row {}", id.value()), {}};
  }
  if (revolution > row->revolutions.size()) {
    return Error{
        ErrorCode::bad_argument,
        {},
        {},
        fmt::format("revolution {} of a row that has {}", revolution + 1, row->revolutions.size()),
        {}};
  }
  model::ChuffRow changed = *row;
  if (revolution == changed.revolutions.size()) changed.revolutions.emplace_back();
  changed.revolutions[revolution] = candidate.revolution;
  return model::Edit(model::Replace<model::ChuffRow>{std::move(changed)});
}

}  // namespace fourbeat::work
