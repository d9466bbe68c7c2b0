// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/chuff_builder.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>
#include <utility>

namespace fourbeat::work {

namespace {

/// Ascending, joined where they touch.
std::vector<SpeedRange> joined(std::vector<SpeedRange> ranges) {
  std::sort(ranges.begin(), ranges.end(),
            [](const SpeedRange& a, const SpeedRange& b) { return a.from_kmh < b.from_kmh; });
  std::vector<SpeedRange> result;
  for (const SpeedRange& range : ranges) {
    if (!result.empty() && range.from_kmh <= result.back().to_kmh) {
      result.back().to_kmh = std::max(result.back().to_kmh, range.to_kmh);
    } else {
      result.push_back(range);
    }
  }
  return result;
}

/// What is left of ranges without others; both ascending and joined.
std::vector<SpeedRange> less(const std::vector<SpeedRange>& ranges,
                             const std::vector<SpeedRange>& others) {
  std::vector<SpeedRange> left;
  for (const SpeedRange& range : ranges) {
    double reached_kmh = range.from_kmh;
    for (const SpeedRange& other : others) {
      if (other.to_kmh <= reached_kmh || other.from_kmh >= range.to_kmh) continue;
      if (other.from_kmh > reached_kmh) left.push_back({reached_kmh, other.from_kmh});
      reached_kmh = other.to_kmh;
    }
    if (reached_kmh < range.to_kmh) left.push_back({reached_kmh, range.to_kmh});
  }
  return left;
}

}  // namespace

std::vector<Id<model::Take>> takes_of_table(const model::ChuffTable& table,
                                            std::optional<model::Condition> condition) {
  std::set<Id<model::Take>> ids;
  const auto add = [&](const model::Source& source) {
    for (const model::MixInput& input : source.mix)
      ids.insert(input.take);
  };
  for (const model::ChuffRow& row : table.rows) {
    if (condition && row.condition != *condition) continue;
    for (const model::Revolution& revolution : row.revolutions)
      add(revolution.source);
    if (row.fused) add(row.fused->source);
  }
  return {ids.begin(), ids.end()};
}

Result<model::ChuffTable> with_lead(const model::Project& project, double lead_ms) {
  if (!(lead_ms >= 0.0) || lead_ms > 50.0) {
    return Error{ErrorCode::bad_argument, {}, "/chuffs/lead_ms", fmt::format("{} ms", lead_ms), {}};
  }
  model::ChuffTable table = project.chuffs;
  table.lead_ms = lead_ms;
  for (std::size_t i = 0; i < table.rows.size(); ++i) {
    for (model::Revolution& revolution : table.rows[i].revolutions) {
      if (revolution.source.mix.empty()) continue;
      const Id<model::Take> id = revolution.source.mix.front().take;
      const model::Take* take = model::find(project, id);
      const model::Pass* pass = model::find(project, revolution.source.pass);
      if (take == nullptr || pass == nullptr) continue;
      FrameIndex first;
      for (const model::PassTake& member : pass->takes) {
        if (member.take == id) first = FrameIndex(0) + member.offset_frames;
      }
      const FrameCount lead(std::llround(lead_ms * take->sample_rate_hz / 1000.0));
      for (model::Chuff& chuff : revolution.chuffs) {
        const FrameCount length = chuff.range.length();
        const FrameIndex quiet = chuff.range.start + chuff.fade_in_frames;
        chuff.range.start = chuff.beat_frame - lead;
        if (chuff.fade_in_frames > FrameCount(0)) {
          chuff.fade_in_frames = std::clamp(quiet - chuff.range.start, FrameCount(0), lead);
        }
        chuff.range.end = chuff.range.start + length;
        if (chuff.range.start < first) {
          return Error{ErrorCode::bad_argument,
                       {},
                       fmt::format("/chuffs/rows/{}", i),
                       "a chuff would begin before its take does",
                       "choose a shorter lead"};
        }
      }
    }
  }
  return table;
}

std::vector<RowCandidates> candidates_for(const model::ChuffTable& table, const ChuffBuild& build) {
  std::vector<RowCandidates> rows;
  for (std::size_t r = 0; r < table.rows.size(); ++r) {
    const model::ChuffRow& row = table.rows[r];
    if (row.derived || row.fused) continue;
    std::vector<RevolutionCandidate> own;
    for (const RowCandidates& found : build.candidates) {
      const model::ChuffRow& built = build.table.rows[found.row];
      if (built.effort != row.effort || built.condition != row.condition) continue;
      if (built.from_kmh == row.from_kmh && built.to_kmh == row.to_kmh) {
        own = found.candidates;
        break;
      }
      for (const RevolutionCandidate& each : found.candidates)
        if (each.speed_kmh >= row.from_kmh && each.speed_kmh < row.to_kmh) own.push_back(each);
    }
    std::stable_sort(own.begin(), own.end(),
                     [](const RevolutionCandidate& a, const RevolutionCandidate& b) {
                       return a.quality.total > b.quality.total;
                     });
    if (!own.empty()) rows.push_back({r, std::move(own)});
  }
  return rows;
}

std::vector<EffortCoverage> coverage_of(const model::ChuffTable& table, double top_speed_kmh,
                                        model::Condition condition) {
  std::vector<EffortCoverage> all;
  for (const model::Effort effort :
       {model::Effort::drifting, model::Effort::easy, model::Effort::hard}) {
    EffortCoverage coverage;
    coverage.effort = effort;
    std::vector<SpeedRange> recorded;
    std::vector<SpeedRange> derived;
    for (const model::ChuffRow& row : table.rows) {
      const SpeedRange range{std::max(0.0, row.from_kmh), std::min(row.to_kmh, top_speed_kmh)};
      if (row.effort != effort || row.condition != condition || range.from_kmh >= range.to_kmh ||
          (row.revolutions.empty() && !row.fused)) {
        continue;
      }
      (row.derived ? derived : recorded).push_back(range);
    }
    coverage.recorded = joined(recorded);
    coverage.derived = less(joined(std::move(derived)), coverage.recorded);
    recorded.insert(recorded.end(), coverage.derived.begin(), coverage.derived.end());
    coverage.covered = joined(std::move(recorded));
    if (top_speed_kmh > 0.0) coverage.missing = less({{0.0, top_speed_kmh}}, coverage.covered);
    all.push_back(std::move(coverage));
  }
  return all;
}

}  // namespace fourbeat::work
