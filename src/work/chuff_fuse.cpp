// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_fuse.h"

#include "fourbeat/audio/loudness.h"
#include "fourbeat/base/wheel.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/loop_kinds.h"
#include "fourbeat/work/segments.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

namespace fourbeat::work {

namespace {

constexpr double longest_run_s = 12.0;  ///< what the loop finder is given

/// How far the beats of a row's band stand apart: the highest over the lowest part of their mean
/// course.
double standing_apart_db(const std::vector<Turn>& turns, const BandRow& row,
                         const std::vector<double>& bounds_kmh) {
  std::array<double, dsp::chuff_course_parts> course{};
  for (const Turn& turn : turns) {
    if (turn.effort != row.effort || band_of(bounds_kmh, turn.speed_kmh) != row.band) continue;
    for (std::size_t k = 0; k < turn.levels_db.size(); ++k) {
      for (std::size_t part = 0; part < course.size(); ++part)
        course[part] += static_cast<double>(turn.chuff(k).course[part]);
    }
  }
  const auto [low, high] = std::minmax_element(course.begin(), course.end());
  return *low > 0.0 ? 10.0 * std::log10(*high / *low) : 120.0;
}

/// The longest stretch of turns without a break in a row's band.
std::optional<FastRun> longest_run(const std::vector<Turn>& turns, const BandRow& row,
                                   const std::vector<double>& bounds_kmh, std::size_t n) {
  std::optional<FastRun> longest;
  std::optional<FastRun> run;
  for (const Turn& turn : turns) {
    const bool fits = turn.effort == row.effort && band_of(bounds_kmh, turn.speed_kmh) == row.band;
    const std::vector<dsp::Beat>& beats = turn.take->beats();
    const FrameIndex start = beats[turn.first_beat].frame;
    if (!fits || (run && (run->take != turn.take || run->range.end != start))) run.reset();
    if (!fits) continue;
    if (!run) run = FastRun{turn.take, {start, start}, turn.speed_kmh, row.effort, row.band};
    run->range.end = beats[turn.first_beat + n].frame;
    if (!longest || longest->range.length() < run->range.length()) longest = run;
  }
  return longest;
}

/// The tracker's fused stretches.
std::vector<FastRun> fused_stretches(const std::vector<HeardTake>& takes,
                                     const model::Engine& engine,
                                     const std::vector<double>& bounds_kmh) {
  std::vector<FastRun> runs;
  for (const HeardTake& take : takes) {
    for (const dsp::BeatStretch& stretch : take.tracked->track.stretches) {
      if (!stretch.fused || !(stretch.median_interval_s > 0.0)) continue;
      const std::vector<dsp::Beat>& beats = take.beats();
      const auto place = [&](FrameIndex frame) {
        const auto at = std::lower_bound(
            beats.begin(), beats.end(), frame,
            [](const dsp::Beat& beat, FrameIndex bound) { return beat.frame < bound; });
        return static_cast<std::size_t>(at - beats.begin());
      };
      FastRun run{&take, stretch.range, 0.0, model::Effort::easy, 0};
      run.speed_kmh = beat_speed_kmh(stretch.median_interval_s, engine.driver_diameter_mm,
                                     engine.beats_per_rev);
      run.effort = effort_of(*take.tracked, place(stretch.range.start), place(stretch.range.end));
      run.band = band_of(bounds_kmh, run.speed_kmh);
      runs.push_back(run);
    }
  }
  return runs;
}

/// Keeps the longer of two stretches of one band and effort.
void keep_longest(const FastRun& run, std::vector<FastRun>& kept) {
  for (FastRun& other : kept) {
    if (other.effort != run.effort || other.band != run.band) continue;
    if (other.range.length() < run.range.length()) other = run;
    return;
  }
  kept.push_back(run);
}

/// The middle of a stretch, on the pass clock.
FrameRange middle_of(const FastRun& run) {
  const auto most = static_cast<std::int64_t>(longest_run_s * run.take->sample_rate_hz);
  FrameRange range = run.range;
  const std::int64_t over = std::max<std::int64_t>(0, range.length().value() - most);
  range.start = range.start + FrameCount(over / 2);
  range.end = range.end - FrameCount(over - over / 2);
  return {range.start + run.take->offset_frames, range.end + run.take->offset_frames};
}

Result<std::optional<model::FusedLoop>> loop_of(const model::Project& project, const FastRun& run,
                                                const std::map<model::Effort, RowTrends>& trends,
                                                Renderer& renderer, JobControl& job) {
  model::FusedLoop fused;
  fused.source = run.take->source;
  fused.range = middle_of(run);
  fused.recorded_kmh = std::round(run.speed_kmh * 10.0) / 10.0;
  model::Piece piece;
  piece.source = fused.source;
  piece.range = fused.range;
  Result<audio::Clip> clip = renderer.render(piece);
  if (!clip) return clip.error();
  const double rate = clip->sample_rate_hz;
  dsp::LoopParams params;
  params.min_s = shortest_loop_s(model::Category::exhaust);
  params = brought_down(params, static_cast<double>(clip->samples.size()) / rate);
  const Result<dsp::LoopSearch> found =
      dsp::find_loops(audio::Pcm{rate, {clip->samples}}, params, job);
  if (!found) return found.error();
  if (found->candidates.empty()) return std::optional<model::FusedLoop>();
  fused.loop = loop_in_material(found->candidates.front().loop, fused.range.start);
  const std::optional<double> energy_db = audio::k_weighted_energy_db(clip->samples, rate);
  if (energy_db && trends.contains(run.effort)) {
    // Chuffs of the trend's energy, so many a second, have this power.
    const double interval_s = beat_interval_s(run.speed_kmh, project.engine.driver_diameter_mm,
                                              project.engine.beats_per_rev);
    const double wanted_db =
        energy_in_order_db(trends, run.effort, run.speed_kmh) - 10.0 * std::log10(interval_s);
    const double power_db =
        *energy_db - 10.0 * std::log10(static_cast<double>(clip->samples.size()) / rate);
    fused.gain_db =
        std::round(std::clamp(wanted_db - power_db, -most_gain_db, most_gain_db) * 100.0) / 100.0;
  }
  return std::optional<model::FusedLoop>(std::move(fused));
}

}  // namespace

std::vector<FastRun> take_fused_bands(const std::vector<HeardTake>& takes,
                                      const std::vector<Turn>& turns, const model::Project& project,
                                      const std::vector<double>& bounds_kmh, const ChuffPlan& plan,
                                      std::vector<BandRow>& rows) {
  const auto n = static_cast<std::size_t>(project.engine.beats_per_rev);
  std::vector<FastRun> kept;
  std::map<model::Effort, std::size_t> above;  // first band over all whose beats stand apart
  for (const BandRow& row : rows) {
    if (standing_apart_db(turns, row, bounds_kmh) >= plan.fuse_below_db)
      above[row.effort] = row.band + 1;
  }
  const auto is_above = [&](model::Effort effort, std::size_t band) {
    const auto first = above.find(effort);
    return first == above.end() || band >= first->second;
  };
  for (const BandRow& row : rows) {
    if (!is_above(row.effort, row.band)) continue;
    if (const auto run = longest_run(turns, row, bounds_kmh, n)) keep_longest(*run, kept);
  }
  for (const FastRun& run : fused_stretches(takes, project.engine, bounds_kmh)) {
    if (is_above(run.effort, run.band)) keep_longest(run, kept);
  }
  std::erase_if(kept, [](const FastRun& run) {
    return static_cast<double>(run.range.length().value()) <
           shortest_loop_s(model::Category::exhaust) * run.take->sample_rate_hz;
  });
  std::erase_if(rows, [&](const BandRow& row) {
    return std::any_of(kept.begin(), kept.end(), [&](const FastRun& run) {
      return run.effort == row.effort && run.band <= row.band;
    });
  });
  std::sort(kept.begin(), kept.end(), [](const FastRun& a, const FastRun& b) {
    return std::pair(a.effort, a.band) < std::pair(b.effort, b.band);
  });
  return kept;
}

Result<std::vector<model::ChuffRow>> fused_rows(const model::Project& project,
                                                const std::vector<FastRun>& runs,
                                                const std::map<model::Effort, RowTrends>& trends,
                                                const std::vector<double>& bounds_kmh,
                                                Renderer& renderer, JobControl& job) {
  std::vector<model::ChuffRow> rows;
  for (const FastRun& run : runs) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    Result<std::optional<model::FusedLoop>> loop = loop_of(project, run, trends, renderer, job);
    if (!loop) return loop.error();
    if (!*loop) continue;
    model::ChuffRow row;
    row.effort = run.effort;
    row.from_kmh = bounds_kmh[run.band];
    row.to_kmh = bounds_kmh.back();
    row.fused = std::move(**loop);
    if (!rows.empty() && rows.back().effort == row.effort) rows.back().to_kmh = row.from_kmh;
    rows.push_back(std::move(row));
  }
  return rows;
}

}  // namespace fourbeat::work
