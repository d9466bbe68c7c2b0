// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"
#include "support/synthetic_steam.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/wheel.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/chuff_builder.h"

#include <cmath>
#include <string>
#include <vector>

namespace fourbeat::tests {

/// A run of the engine of steam_project(), its speed linear in time.
struct SteamRun {
  double from_kmh = 20.0;
  double to_kmh = 20.0;
  double seconds = 12.0;
  std::vector<double> angles_deg{0.0, 94.0, 178.0, 272.0};
  std::vector<double> levels_db{2.0, -1.5, 0.5, -1.0};
  double gain_db = 0.0;
  double level_jitter_db = 0.3;
  double depth_db = 30.0;
  std::uint64_t seed = 1;
  int counted_ahead = 0;  ///< by how many places the tracker's positions are off
};

/// What was recorded, and what the tracker would say of it.
struct SteamTake {
  Steam steam;
  work::TrackedTake tracked;
};

/// A project whose takes are runs of synthetic steam with every beat known.
struct SteamProject {
  static constexpr double rate_hz = 16'000.0;
  static constexpr double driver_mm = 1400.0;

  TempFolder folder;
  model::Project project;
  std::vector<SteamTake> takes;

  SteamProject() {
    project.engine.driver_diameter_mm = driver_mm;
    project.engine.top_speed_kmh = 60.0;
  }

  SteamTake& add(const SteamRun& run) {
    SteamParams params;
    params.sample_rate_hz = rate_hz;
    params.seconds = run.seconds;
    params.seed = run.seed;
    params.rate_hz = [&](double t) {
      const double kmh = run.from_kmh + (run.to_kmh - run.from_kmh) * t / run.seconds;
      return 1.0 / beat_interval_s(kmh, driver_mm, 4.0);
    };
    params.angles_deg = run.angles_deg;
    params.levels_db = run.levels_db;
    params.level_jitter_db = run.level_jitter_db;
    params.depth_db = run.depth_db;
    params.peak_db = -18.0;
    SteamTake take;
    take.steam = synthetic_steam(params);
    for (float& sample : take.steam.samples)
      sample *= static_cast<float>(gain_of_db(run.gain_db));
    write(take, run);
    takes.push_back(std::move(take));
    return takes.back();
  }

  /// Writes a take's samples again, after a test has changed them.
  void rewrite(std::size_t index) {
    const model::Take& listed = project.takes[index];
    const audio::Pcm pcm{rate_hz, {takes[index].steam.samples}};
    REQUIRE(audio::write_wav(folder.path() / listed.path, pcm, audio::WavDepth::f32));
  }

  [[nodiscard]] std::vector<work::TrackedTake> tracked() const {
    std::vector<work::TrackedTake> all;
    for (const SteamTake& take : takes)
      all.push_back(measured(take));
    return all;
  }

  /// Its speed and effort measured from the beats as they are now.
  [[nodiscard]] work::TrackedTake measured(const SteamTake& take) const {
    Result<work::TrackedTake> all =
        work::measure_take(project, take.tracked.take, 1, take.tracked.track, {});
    REQUIRE(all);
    return *all;
  }

  [[nodiscard]] Result<work::ChuffBuild> build(const model::DecoderProfile* profile = nullptr,
                                               const work::ChuffPlan& plan = {}) const {
    JobControl job;
    return work::build_chuffs(project, folder.path(), tracked(), profile, plan, job);
  }

  /// The true place in the revolution of the beat that a chuff was cut at.
  [[nodiscard]] int true_place(const model::Revolution& revolution,
                               const model::Chuff& chuff) const {
    for (std::size_t i = 0; i < takes.size(); ++i) {
      if (takes[i].tracked.take != revolution.source.mix.front().take) continue;
      const Steam& steam = takes[i].steam;
      for (std::size_t b = 0; b < steam.beats_s.size(); ++b) {
        if (std::llround(steam.beats_s[b] * rate_hz) == chuff.beat_frame.value()) {
          return steam.positions[b];
        }
      }
    }
    return -1;
  }

 private:
  void write(SteamTake& take, const SteamRun& run) {
    const std::string name = "run" + std::to_string(takes.size()) + ".wav";
    const audio::Pcm pcm{rate_hz, {take.steam.samples}};
    REQUIRE(audio::write_wav(folder.path() / name, pcm, audio::WavDepth::f32));
    JobControl job;
    Result<model::Take> listed = store::describe_take(folder.path() / name, folder.path(), job);
    REQUIRE(listed);
    listed->id = Id<model::Take>(project.next_id++);
    model::Pass pass;
    pass.id = Id<model::Pass>(project.next_id++);
    pass.takes.push_back({listed->id, FrameCount(0), {}});
    project.takes.push_back(*listed);
    project.passes.push_back(pass);
    take.tracked.take = listed->id;
    dsp::BeatTrack& track = take.tracked.track;
    for (std::size_t b = 0; b < take.steam.beats_s.size(); ++b) {
      dsp::Beat beat;
      beat.time_s = take.steam.beats_s[b];
      beat.frame = FrameIndex(std::llround(beat.time_s * rate_hz));
      beat.confidence = 1.0;
      beat.position = (take.steam.positions[b] + run.counted_ahead) % 4;
      track.beats.push_back(beat);
    }
    track.stretches.push_back(
        {{track.beats.front().frame, track.beats.back().frame + FrameCount(1)}, 0.1});
  }
};

}  // namespace fourbeat::tests
