// SPDX-License-Identifier: GPL-3.0-or-later
#include "chuff_turns.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/work/render.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

namespace fourbeat::work {

namespace {

constexpr std::size_t angles_need = 8;   ///< revolutions before angles count as measured
constexpr double next_attack_s = 0.020;  ///< read beyond the beat that follows

/// True when one stretch of beats that stand apart holds all of [from, to].
bool in_one_stretch(const dsp::BeatTrack& track, FrameIndex from, FrameIndex to) {
  return std::any_of(track.stretches.begin(), track.stretches.end(), [&](const auto& stretch) {
    return !stretch.fused && stretch.range.start <= from && to <= stretch.range.end;
  });
}

/// Places as the tracker gives them; where it gives none, counting starts at the stretch's first
/// beat.
void count_places(HeardTake& take, std::size_t n, std::size_t& next_group) {
  const std::vector<dsp::Beat>& beats = take.beats();
  const std::size_t of_take = next_group++;
  std::size_t group = of_take;
  std::size_t counted = 0;
  for (std::size_t i = 0; i < beats.size(); ++i, ++counted) {
    const bool follows =
        i > 0 && in_one_stretch(take.tracked->track, beats[i - 1].frame, beats[i].frame);
    if (!follows) {
      counted = 0;
      group = beats[i].position ? of_take : next_group++;
    }
    take.places.push_back(beats[i].position ? static_cast<std::size_t>(*beats[i].position) % n
                                            : counted % n);
    take.groups.push_back(group);
  }
}

Result<HeardTake> open_take(const model::Project& project, const TrackedTake& tracked) {
  const model::Take* take = model::find(project, tracked.take);
  const model::Pass* pass = take == nullptr ? nullptr : model::pass_of(project, take->id);
  if (pass == nullptr) {
    return Error{ErrorCode::not_found,
                 {},
                 {},
                 fmt::format("no take {} in a pass", tracked.take.value()),
                 {}};
  }
  HeardTake heard;
  heard.tracked = &tracked;
  heard.sample_rate_hz = take->sample_rate_hz;
  for (const model::PassTake& member : pass->takes) {
    if (member.take == take->id) heard.offset_frames = member.offset_frames;
  }
  heard.source.pass = pass->id;
  model::MixInput input;
  input.take = take->id;
  input.channel = tracked.channel;
  heard.source.mix.push_back(input);
  return heard;
}

/// Measures the chuff of beat i, when another beat follows in its stretch.
Status measure_beat(HeardTake& heard, std::size_t i, FrameCount take_frames, double lead_ms,
                    Renderer& renderer) {
  const std::vector<dsp::Beat>& beats = heard.beats();
  if (i + 1 >= beats.size() ||
      !in_one_stretch(heard.tracked->track, beats[i].frame, beats[i + 1].frame)) {
    return ok();
  }
  const double rate = heard.sample_rate_hz;
  const FrameCount margin(std::llround(longest_lead_s * rate));
  const FrameCount after(std::llround(next_attack_s * rate));
  const FrameIndex start = std::max(FrameIndex(0), beats[i].frame - margin);
  const FrameIndex end = std::min(FrameIndex(0) + take_frames, beats[i + 1].frame + after);
  model::Piece piece;
  piece.source = heard.source;
  piece.range = {start + heard.offset_frames, end + heard.offset_frames};
  const Result<audio::Clip> clip = renderer.render(piece);
  if (!clip) return clip.error();
  const FrameCount lead(std::min(std::llround(lead_ms * rate / 1000.0),
                                 static_cast<long long>((beats[i].frame - start).value())));
  heard.chuffs[i] =
      dsp::measure_chuff(clip->samples, rate, FrameIndex(0) + (beats[i].frame - start),
                         FrameIndex(0) + (beats[i + 1].frame - start), lead);
  return ok();
}

/// Speed and acceleration by the take's curve, else by the turn's own length; effort: what most of
/// the beats have, of as many the harder.
void judge_turn_speed(Turn& turn, double circumference_m, std::size_t n) {
  const TrackedTake& tracked = *turn.take->tracked;
  const std::vector<dsp::Beat>& beats = tracked.track.beats;
  const double start_s = beats[turn.first_beat].time_s;
  const double end_s = beats[turn.first_beat + n].time_s;
  const std::optional<dsp::SpeedPoint> point = tracked.speed.at(0.5 * (start_s + end_s));
  turn.speed_kmh = point && point->speed_kmh && *point->speed_kmh > 0.0
                       ? *point->speed_kmh
                       : 3.6 * circumference_m / (end_s - start_s);
  if (point) turn.acceleration_m_s2 = point->acceleration_m_s2.value_or(0.0);
  turn.effort = effort_of(tracked, turn.first_beat, turn.first_beat + n);
}

void measure_pattern(Turn& turn, std::size_t n) {
  const std::vector<dsp::Beat>& beats = turn.take->beats();
  const double start_s = beats[turn.first_beat].time_s;
  const double turn_s = beats[turn.first_beat + n].time_s - start_s;
  const double bend = 0.5 * turn.acceleration_m_s2 * turn_s / (turn.speed_kmh / 3.6);
  double mean_db = 0.0;
  for (std::size_t k = 0; k < n; ++k) {
    const double x = (beats[turn.first_beat + k].time_s - start_s) / turn_s;
    turn.angles_deg.push_back(360.0 * (x + bend * x * (x - 1.0)));
    turn.levels_db.push_back(turn.chuff(k).energy_db);
    mean_db += turn.levels_db.back() / static_cast<double>(n);
  }
  for (double& level_db : turn.levels_db)
    level_db -= mean_db;
}

}  // namespace

model::Effort effort_of(const TrackedTake& take, std::size_t first, std::size_t last) {
  std::array<std::size_t, 3> count{};
  for (std::size_t i = first; i < last && i < take.efforts.size(); ++i)
    ++count.at(static_cast<std::size_t>(take.efforts[i]));
  if (count == std::array<std::size_t, 3>{}) return model::Effort::easy;
  std::size_t most = 0;
  for (std::size_t i = 1; i < count.size(); ++i) {
    if (count.at(i) >= count.at(most)) most = i;
  }
  return static_cast<model::Effort>(most);
}

Result<std::vector<HeardTake>> hear_takes(const model::Project& project,
                                          const std::filesystem::path& project_folder,
                                          const std::vector<TrackedTake>& takes, double lead_ms,
                                          JobControl& job) {
  const auto n = static_cast<std::size_t>(project.engine.beats_per_rev);
  Renderer renderer(project, project_folder);
  std::vector<HeardTake> all;
  std::size_t next_group = 0;
  std::size_t beats = 0;
  std::size_t done = 0;
  for (const TrackedTake& tracked : takes)
    beats += tracked.track.beats.size();
  for (const TrackedTake& tracked : takes) {
    if (!tracked.chuff_source) continue;
    Result<HeardTake> heard = open_take(project, tracked);
    if (!heard) return heard.error();
    count_places(*heard, n, next_group);
    heard->chuffs.resize(tracked.track.beats.size());
    const FrameCount frames = model::find(project, tracked.take)->frames;
    for (std::size_t i = 0; i < heard->chuffs.size(); ++i, ++done) {
      if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
      if (done % 64 == 0) {
        job.progress(static_cast<double>(done) / static_cast<double>(beats), "measuring beats");
      }
      if (const Status measured = measure_beat(*heard, i, frames, lead_ms, renderer); !measured) {
        return measured.error();
      }
    }
    all.push_back(std::move(*heard));
  }
  return all;
}

std::vector<Turn> turns_of(const std::vector<HeardTake>& takes, const model::Engine& engine) {
  const auto n = static_cast<std::size_t>(engine.beats_per_rev);
  const double circumference_m = wheel_circumference_m(engine.driver_diameter_mm);
  std::vector<Turn> turns;
  for (const HeardTake& take : takes) {
    const std::size_t first = turns.size();
    const std::vector<dsp::Beat>& beats = take.beats();
    for (std::size_t i = 0; i + n < beats.size(); ++i) {
      if (take.places[i] != 0 ||
          !in_one_stretch(take.tracked->track, beats[i].frame, beats[i + n].frame)) {
        continue;
      }
      Turn turn;
      turn.take = &take;
      turn.first_beat = i;
      turn.confidence = 1.0;
      bool whole = true;
      for (std::size_t k = 0; k < n && whole; ++k) {
        whole = take.places[i + k] == k && take.chuffs[i + k].has_value();
        turn.confidence = std::min(turn.confidence, beats[i + k].confidence);
      }
      if (!whole) continue;
      turn.confidence = std::min(turn.confidence, beats[i + n].confidence);
      judge_turn_speed(turn, circumference_m, n);
      turns.push_back(std::move(turn));
    }
    for (std::size_t i = first; i < turns.size(); ++i)
      measure_pattern(turns[i], n);
  }
  return turns;
}

std::vector<double> measure_angles(const std::vector<Turn>& turns, std::size_t n) {
  if (turns.size() < angles_need) return {};
  std::vector<double> angles(n, 0.0);
  for (const Turn& turn : turns) {
    for (std::size_t k = 0; k < n; ++k)
      angles[k] += turn.angles_deg[k];
  }
  for (double& angle : angles) {
    // A hundredth of a degree is finer than any beat time.
    angle = std::round(angle / static_cast<double>(turns.size()) * 100.0) / 100.0;
  }
  for (std::size_t k = 1; k < n; ++k) {
    if (angles[k] <= angles[k - 1] || angles[k] >= 360.0) return {};
  }
  return angles;
}

}  // namespace fourbeat::work
