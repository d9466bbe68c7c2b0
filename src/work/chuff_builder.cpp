// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/chuff_builder.h"

#include "fourbeat/base/text.h"
#include "fourbeat/base/wheel.h"
#include "fourbeat/work/produce.h"

#include <fmt/format.h>

#include <array>
#include <optional>
#include <set>
#include <span>

namespace fourbeat::work {

namespace {

constexpr double band_ratio = 1.25;           ///< upper over lower speed of a row
constexpr std::size_t revolutions_a_row = 2;  ///< so that the ear hears no machine gun
constexpr double tail_fade_s = 0.008;         ///< click-free end of a chuff
constexpr std::size_t angles_need = 8;        ///< revolutions before angles count as measured

/// One whole turn found in a take.
struct Turn {
  const TrackedTake* take = nullptr;
  std::size_t first_beat = 0;
  double speed_kmh = 0.0;
  double acceleration_m_s2 = 0.0;
  model::Effort effort = model::Effort::easy;
  double quality = 0.0;  ///< higher is better
};

/// What most beats of a turn have; of as many, the harder.
model::Effort effort_of(std::span<const model::Effort> beats) {
  std::array<std::size_t, 3> count{};
  for (const model::Effort effort : beats)
    ++count.at(static_cast<std::size_t>(effort));
  std::size_t most = 0;
  for (std::size_t i = 1; i < count.size(); ++i)
    if (count.at(i) >= count.at(most)) most = i;
  return static_cast<model::Effort>(most);
}

bool in_one_stretch(const dsp::BeatTrack& track, FrameIndex from, FrameIndex to) {
  return std::any_of(track.stretches.begin(), track.stretches.end(), [&](const auto& stretch) {
    return stretch.range.start <= from && to <= stretch.range.end;
  });
}

/// Whole turns of a take. Where the tracker gives no positions, counting starts at each stretch's
/// first beat.
std::vector<Turn> turns_of(const TrackedTake& tracked, int beats_per_rev, double circumference_m) {
  const std::vector<dsp::Beat>& beats = tracked.track.beats;
  const auto n = static_cast<std::size_t>(beats_per_rev);
  std::vector<Turn> turns;
  std::size_t counted = 0;
  for (std::size_t i = 0; i + n < beats.size(); ++i) {
    if (i > 0 && !in_one_stretch(tracked.track, beats[i - 1].frame, beats[i].frame)) counted = 0;
    const std::size_t place =
        beats[i].position ? static_cast<std::size_t>(*beats[i].position) : counted % n;
    ++counted;
    if (place != 0 || !in_one_stretch(tracked.track, beats[i].frame, beats[i + n].frame)) continue;
    Turn turn;
    turn.take = &tracked;
    turn.first_beat = i;
    const double middle_s = 0.5 * (beats[i].time_s + beats[i + n].time_s);
    const std::optional<dsp::SpeedPoint> point = tracked.speed.at(middle_s);
    turn.speed_kmh = point && point->speed_kmh && *point->speed_kmh > 0.0
                         ? *point->speed_kmh
                         : 3.6 * circumference_m / (beats[i + n].time_s - beats[i].time_s);
    if (point) turn.acceleration_m_s2 = point->acceleration_m_s2.value_or(0.0);
    turn.effort = effort_of(std::span(tracked.efforts).subspan(i, n));
    double confidence = 1.0;
    for (std::size_t k = 0; k <= n; ++k)
      confidence = std::min(confidence, beats[i + k].confidence);
    turn.quality = confidence;
    turns.push_back(turn);
  }
  return turns;
}

/// Mean place of each beat in the revolution, in degrees, the turn's speed change taken as even.
std::vector<double> measure_angles(const std::vector<Turn>& turns, std::size_t n) {
  if (turns.size() < angles_need) return {};
  std::vector<double> sums(n, 0.0);
  for (const Turn& turn : turns) {
    const std::vector<dsp::Beat>& beats = turn.take->track.beats;
    const double start_s = beats[turn.first_beat].time_s;
    const double turn_s = beats[turn.first_beat + n].time_s - start_s;
    const double speed_m_s = turn.speed_kmh / 3.6;
    const double bend = 0.5 * turn.acceleration_m_s2 * turn_s / speed_m_s;
    for (std::size_t k = 0; k < n; ++k) {
      const double x = (beats[turn.first_beat + k].time_s - start_s) / turn_s;
      sums[k] += 360.0 * (x + bend * x * (x - 1.0));
    }
  }
  std::vector<double> angles;
  angles.reserve(sums.size());
  for (const double sum : sums) {
    // A hundredth of a degree is finer than any beat time.
    angles.push_back(std::round(sum / static_cast<double>(turns.size()) * 100.0) / 100.0);
  }
  for (std::size_t k = 1; k < n; ++k) {
    if (angles[k] <= angles[k - 1]) return {};
  }
  return angles;
}

Result<model::Revolution> cut(const model::Project& project, const Turn& turn,
                              const model::ChuffTable& table, double row_top_kmh,
                              const model::DecoderProfile* profile,
                              const std::vector<double>& angles) {
  const model::Take* take = model::find(project, turn.take->take);
  const model::Pass* pass = take == nullptr ? nullptr : model::pass_of(project, take->id);
  if (pass == nullptr) return Error{ErrorCode::not_found, {}, {}, "the take's pass", {}};
  FrameCount offset;
  for (const model::PassTake& member : pass->takes) {
    if (member.take == take->id) offset = member.offset_frames;
  }
  const double rate = take->sample_rate_hz;
  const FrameCount lead(std::llround(table.lead_ms * rate / 1000.0));
  const std::vector<dsp::Beat>& beats = turn.take->track.beats;
  model::Revolution revolution;
  revolution.source.pass = pass->id;
  model::MixInput input;
  input.take = take->id;
  input.channel = turn.take->channel;
  revolution.source.mix.push_back(input);
  const double turn_s = beat_interval_s(row_top_kmh, project.engine.driver_diameter_mm, 1.0);
  for (std::size_t k = 0; k < angles.size(); ++k) {
    const FrameIndex beat = beats[turn.first_beat + k].frame + offset;
    const FrameIndex next = beats[turn.first_beat + k + 1].frame + offset;
    model::Chuff chuff;
    chuff.beat_frame = beat;
    chuff.range = {beat - lead, next - lead};
    if (profile != nullptr && !profile->chuffs_may_overlap) {
      const double next_deg = k + 1 < angles.size() ? angles[k + 1] : angles[0] + 360.0;
      const FrameCount room(
          static_cast<std::int64_t>(turn_s * (next_deg - angles[k]) / 360.0 * rate));
      chuff.range.end = std::min(chuff.range.end, chuff.range.start + room);
    }
    chuff.fade_out_frames =
        FrameCount(std::min(std::llround(tail_fade_s * rate),
                            static_cast<long long>(chuff.range.length().value() / 4)));
    revolution.chuffs.push_back(chuff);
  }
  return revolution;
}

/// The rows of one effort: bands of equal ratio over the speeds recorded.
Status add_rows(const model::Project& project, std::vector<Turn> turns, model::Effort effort,
                const model::DecoderProfile* profile, const std::vector<double>& angles,
                model::ChuffTable& table) {
  const auto [slowest, fastest] =
      std::minmax_element(turns.begin(), turns.end(),
                          [](const Turn& a, const Turn& b) { return a.speed_kmh < b.speed_kmh; });
  const double low = slowest->speed_kmh;
  const double high = fastest->speed_kmh * 1.0001;
  const auto bands =
      std::max<std::int64_t>(1, std::llround(std::log(high / low) / std::log(band_ratio)));
  const double ratio = std::pow(high / low, 1.0 / static_cast<double>(bands));
  double from = low;
  std::vector<model::ChuffRow> rows;
  for (std::int64_t band = 0; band < bands; ++band) {
    const double to = band + 1 == bands ? high : from * ratio;
    const double middle = std::sqrt(from * to);
    std::vector<Turn> inside;
    std::copy_if(turns.begin(), turns.end(), std::back_inserter(inside),
                 [&](const Turn& t) { return t.speed_kmh >= from && t.speed_kmh < to; });
    from = to;
    if (inside.empty()) continue;  // its neighbour below reaches up over it
    const auto worth = [&](const Turn& t) {
      return t.quality - std::fabs(std::log(t.speed_kmh / middle)) / std::log(ratio + 1e-9);
    };
    std::stable_sort(inside.begin(), inside.end(),
                     [&](const Turn& a, const Turn& b) { return worth(a) > worth(b); });
    model::ChuffRow row;
    row.effort = effort;
    row.to_kmh = std::round(to * 10.0) / 10.0;
    const double top_kmh = band + 1 == bands ? std::max(to, project.engine.top_speed_kmh) : to;
    for (const Turn& turn : inside) {
      if (row.revolutions.size() == revolutions_a_row) break;
      Result<model::Revolution> revolution = cut(project, turn, table, top_kmh, profile, angles);
      if (!revolution) return revolution.error();
      // A beat at the very start of a take has no room for its lead.
      if (revolution->chuffs.front().range.start < FrameIndex(0)) continue;
      row.revolutions.push_back(std::move(*revolution));
    }
    if (!row.revolutions.empty()) rows.push_back(std::move(row));
  }
  double reached = 0.0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    rows[i].from_kmh = reached;
    if (i + 1 == rows.size()) {
      rows[i].to_kmh = std::max(rows[i].to_kmh, project.engine.top_speed_kmh);
    }
    reached = rows[i].to_kmh;
    table.rows.push_back(std::move(rows[i]));
  }
  return ok();
}

}  // namespace

Result<ChuffBuild> build_chuffs(const model::Project& project,
                                const std::vector<TrackedTake>& takes,
                                const model::DecoderProfile* profile) {
  const auto n = static_cast<std::size_t>(project.engine.beats_per_rev);
  const double circumference_m = wheel_circumference_m(project.engine.driver_diameter_mm);
  ChuffBuild build;
  std::vector<Turn> turns;
  for (const TrackedTake& tracked : takes) {
    if (!tracked.chuff_source) continue;
    build.beats += static_cast<int>(tracked.track.beats.size());
    const std::vector<Turn> found =
        turns_of(tracked, project.engine.beats_per_rev, circumference_m);
    turns.insert(turns.end(), found.begin(), found.end());
  }
  build.revolutions = static_cast<int>(turns.size());
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
  const std::vector<double> angles = model::beat_angles_deg(planned.engine);

  build.table = project.chuffs;
  build.table.rows.clear();
  for (const model::Effort effort :
       {model::Effort::drifting, model::Effort::easy, model::Effort::hard}) {
    std::vector<Turn> of_effort;
    std::copy_if(turns.begin(), turns.end(), std::back_inserter(of_effort),
                 [&](const Turn& t) { return t.effort == effort; });
    if (of_effort.empty()) continue;
    if (const Status added =
            add_rows(project, std::move(of_effort), effort, profile, angles, build.table);
        !added) {
      return added.error();
    }
  }
  if (sets_angles) build.edits.emplace_back(model::SetEngine{planned.engine});
  build.edits.emplace_back(model::SetChuffTable{build.table});
  return build;
}

Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                  const std::filesystem::path& project_folder,
                                  const std::vector<Id<model::Take>>& added,
                                  const model::DecoderProfile* profile, JobControl& job) {
  std::set<Id<model::Take>> ids(added.begin(), added.end());
  for (const Id<model::Take> id : takes_of_table(project.chuffs))
    ids.insert(id);
  std::vector<TrackedTake> takes;
  for (const Id<model::Take> id : ids) {
    Result<TrackedTake> tracked = track_take(project, project_folder, id, job);
    if (!tracked) return tracked.error();
    takes.push_back(std::move(*tracked));
  }
  judge_takes(project, takes);
  return build_chuffs(project, takes, profile);
}

Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                  const std::filesystem::path& project_folder,
                                  const std::vector<Id<model::Take>>& added, JobControl& job) {
  if (project.decoder.empty()) return refresh_chuffs(project, project_folder, added, nullptr, job);
  const Result<model::DecoderProfile> profile = profile_of(project, "");
  if (!profile) return profile.error();
  return refresh_chuffs(project, project_folder, added, &*profile, job);
}

std::vector<Id<model::Take>> takes_of_table(const model::ChuffTable& table) {
  std::set<Id<model::Take>> ids;
  for (const model::ChuffRow& row : table.rows) {
    for (const model::Revolution& revolution : row.revolutions) {
      for (const model::MixInput& input : revolution.source.mix)
        ids.insert(input.take);
    }
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
        chuff.range.start = chuff.beat_frame - lead;
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

std::vector<EffortCoverage> coverage_of(const model::ChuffTable& table, double top_speed_kmh) {
  std::vector<EffortCoverage> all;
  for (const model::Effort effort :
       {model::Effort::drifting, model::Effort::easy, model::Effort::hard}) {
    EffortCoverage coverage;
    coverage.effort = effort;
    std::vector<SpeedRange> ranges;
    for (const model::ChuffRow& row : table.rows) {
      const SpeedRange range{std::max(0.0, row.from_kmh), std::min(row.to_kmh, top_speed_kmh)};
      if (row.effort == effort && range.from_kmh < range.to_kmh && !row.revolutions.empty()) {
        ranges.push_back(range);
      }
    }
    std::sort(ranges.begin(), ranges.end(),
              [](const SpeedRange& a, const SpeedRange& b) { return a.from_kmh < b.from_kmh; });
    for (const SpeedRange& range : ranges) {
      if (!coverage.covered.empty() && range.from_kmh <= coverage.covered.back().to_kmh) {
        coverage.covered.back().to_kmh = std::max(coverage.covered.back().to_kmh, range.to_kmh);
      } else {
        coverage.covered.push_back(range);
      }
    }
    double reached = 0.0;
    for (const SpeedRange& range : coverage.covered) {
      if (range.from_kmh > reached) coverage.missing.push_back({reached, range.from_kmh});
      reached = range.to_kmh;
    }
    if (reached < top_speed_kmh) coverage.missing.push_back({reached, top_speed_kmh});
    all.push_back(std::move(coverage));
  }
  return all;
}

}  // namespace fourbeat::work
