// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/tracked_take.h"

#include "support/catch.h"
#include "support/synthetic_steam.h"
#include "support/temp_folder.h"
#include "support/wheel_runs.h"
#include "work/one_take_project.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/work/chuff_builder.h"

#include <cmath>
#include <functional>

using namespace fourbeat;
using namespace fourbeat::tests;
using model::Effort;

namespace {

constexpr double rate_hz = 16000.0;
const Id<model::Take> the_take(1);

/// gain: amplitude at a time.
model::Project project_of(
    const TempFolder& folder, const SteamParams& params,
    const std::function<double(double)>& gain = [](double) { return 1.0; }) {
  Steam steam = synthetic_steam(params);
  for (std::size_t i = 0; i < steam.samples.size(); ++i)
    steam.samples[i] *= static_cast<float>(gain(static_cast<double>(i) / params.sample_rate_hz));
  audio::Pcm pcm{params.sample_rate_hz, {std::vector<float>(steam.samples.size(), 0.0F)}};
  pcm.channels.push_back(steam.samples);
  model::Project project = one_take_project(folder.path(), pcm, audio::WavDepth::s16, 0);
  project.takes[0].microphones = {"cab", "chimney top"};
  project.engine.driver_diameter_mm = 1500.0;
  project.engine.top_speed_kmh = 80.0;
  return project;
}

work::TrackedTake tracked(const model::Project& project, const TempFolder& folder) {
  JobControl job;
  Result<work::TrackedTake> take = work::track_take(project, folder.path(), the_take, job);
  INFO((take ? std::string() : to_line(take.error())));
  REQUIRE(take);
  return *take;
}

SteamParams steam_at(double beats_per_s) {
  SteamParams params;
  params.sample_rate_hz = rate_hz;
  params.seconds = 14.0;
  params.seed = 9;
  params.rate_hz = [beats_per_s](double) { return beats_per_s; };
  return params;
}

/// Beats a second at a microphone that an engine of v m/s passes at d metres, after `at_s`.
double passing_rate(double time_s, double beats_per_s, double v, double d, double at_s) {
  constexpr double c = 340.27;
  // Heard at T = t + sqrt(d² + v² t²) / c: solved for t, and dt/dT.
  const double tau = time_s - at_s;
  const double root = std::sqrt(c * c * v * v * tau * tau + d * d * (c * c - v * v));
  const double slope = (c * c - c * c * v * v * tau / root) / (c * c - v * v);
  return beats_per_s * slope;
}

}  // namespace

TEST_CASE("tracked take: the chimney's microphone is heard, speed and effort go with its beats",
          "[work]") {
  const TempFolder folder;
  SteamParams params = steam_at(5.0);
  params.rate_hz = [](double t) { return 4.0 + 0.25 * t; };
  const model::Project project = project_of(folder, params);
  const work::TrackedTake take = tracked(project, folder);
  CHECK(take.channel == 2);
  REQUIRE(take.track.beats.size() > 60);
  REQUIRE(take.efforts.size() == take.track.beats.size());
  REQUIRE(take.signs.size() == take.track.beats.size());
  CHECK_FALSE(take.pass_by);
  CHECK(take.chuff_source);
  const double beat_m = wheel_circumference_m(1500.0) / 4.0;
  for (std::size_t i = 4; i + 4 < take.track.beats.size(); ++i) {
    const dsp::Beat& beat = take.track.beats[i];
    CHECK(beat.speed_kmh.value_or(0.0) ==
          Approx(kmh_of_m_s(beat_m * (4.0 + 0.25 * beat.time_s))).epsilon(0.02));
    CHECK(take.signs[i].sound.has_value());
    CHECK(take.efforts[i] == Effort::hard);
  }
  CHECK(take.speed.at(7.0)->acceleration_m_s2.value_or(0.0) == Approx(0.25 * beat_m).margin(0.06));
}

TEST_CASE("tracked take: a pass-by is told, and its take is no chuff source unless it says so",
          "[work]") {
  const TempFolder folder;
  const double v = m_s_of_kmh(40.0);
  const double beats_per_s = v / (wheel_circumference_m(1500.0) / 4.0);
  SteamParams params = steam_at(beats_per_s);
  params.seconds = 20.0;
  params.decay_s = 0.03;
  params.depth_db = 30.0;
  params.rate_hz = [=](double t) { return passing_rate(t, beats_per_s, v, 8.0, 10.0); };
  const auto spread = [&](double t) { return 8.0 / std::hypot(8.0, v * (t - 10.0)); };
  model::Project project = project_of(folder, params, spread);
  const work::TrackedTake take = tracked(project, folder);
  REQUIRE(take.pass_by);
  CHECK(take.pass_by->speed_kmh == Approx(40.0).margin(0.4));
  CHECK(take.pass_by->distance_m == Approx(8.0).margin(2.5));
  CHECK(take.speed.at(3.0)->speed_kmh.value_or(0.0) == Approx(40.0).margin(0.6));
  CHECK(take.speed.at(17.0)->speed_kmh.value_or(0.0) == Approx(40.0).margin(0.6));
  CHECK_FALSE(take.chuff_source);
  JobControl job;
  const auto refreshed = [&] {
    return work::refresh_chuffs(project, folder.path(), {the_take}, nullptr, job);
  };
  CHECK_FALSE(refreshed());
  project.takes[0].chuff_source = true;
  CHECK(tracked(project, folder).chuff_source);
  CHECK(refreshed());
  project.takes[0].chuff_source = false;
  CHECK_FALSE(refreshed());
}

TEST_CASE("tracked take: efforts of several takes are judged by one measure, the engine's first",
          "[work]") {
  model::Project project;
  std::vector<work::TrackedTake> takes(3);
  for (std::size_t t = 0; t < takes.size(); ++t) {
    for (int i = 0; i < 40; ++i) {
      work::EffortSign sign;
      sign.frame = FrameIndex(std::int64_t{1000} * i);
      const double wobble = 0.02 * (i % 5);
      sign.sound = dsp::BeatSound{4.0 + 9.0 * static_cast<double>(t) + 10.0 * wobble,
                                  0.2 + 0.25 * static_cast<double>(t) + wobble};
      takes[t].signs.push_back(sign);
    }
  }
  const model::EffortCalibration measured = work::judge_takes(project, takes);
  CHECK(measured.hard_from_db.has_value());
  CHECK(takes[0].efforts[20] == Effort::drifting);
  CHECK(takes[1].efforts[20] == Effort::easy);
  CHECK(takes[2].efforts[20] == Effort::hard);
  project.engine.effort = model::EffortCalibration{};
  project.engine.effort->drifting_below_db = 1.0;
  project.engine.effort->hard_from_db = 2.0;
  CHECK(work::judge_takes(project, takes) == *project.engine.effort);
  CHECK(takes[0].efforts[20] == Effort::hard);
  // Alone they fall into no three heaps.
  project.engine.effort.reset();
  work::judge_takes(project, std::span(takes).first(1));
  CHECK(takes[0].efforts[20] == Effort::easy);
}

TEST_CASE("tracked take: a file of no project, a stretch of it, and a take that is not there",
          "[work]") {
  const TempFolder folder;
  const model::Project project = project_of(folder, steam_at(4.0));
  JobControl job;
  dsp::BeatHints hints;
  hints.driver_diameter_mm = 1500.0;
  const Result<work::TrackedTake> part =
      work::track_file(folder / "take.wav", {2, 4.0, 12.0}, hints, job);
  REQUIRE(part);
  REQUIRE(part->track.beats.size() > 25);
  CHECK(part->track.beats.front().time_s >= 4.0);
  CHECK_FALSE(part->take.is_set());
  CHECK(part->speed.at(8.0)->speed_kmh.value_or(0.0) ==
        Approx(beat_speed_kmh(0.25, 1500.0, 4.0)).epsilon(0.01));
  CHECK(part->efforts.size() == part->track.beats.size());
  const Result<work::TrackedTake> none =
      work::track_take(project, folder.path(), Id<model::Take>(7), job);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::not_found);
}
