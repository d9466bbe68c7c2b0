// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/chuff_builder.h"

#include "support/catch.h"

#include "fourbeat/base/wheel.h"

using namespace fourbeat;

namespace {

constexpr int rate_hz = 48000;

model::Project project_with_take() {
  model::Project project;
  project.engine.driver_diameter_mm = 1400.0;
  project.engine.top_speed_kmh = 60.0;
  model::Take take;
  take.id = Id<model::Take>(1);
  take.path = "run.wav";
  take.size_bytes = 1;
  take.sha256 = std::string(64, '0');
  take.sample_rate_hz = rate_hz;
  take.channels = 2;
  take.frames = FrameCount(std::int64_t{120} * rate_hz);
  take.microphones = {"cab", "chimney"};
  project.takes.push_back(take);
  model::Pass pass;
  pass.id = Id<model::Pass>(2);
  pass.takes.push_back({take.id, FrameCount(500), {}});
  project.passes.push_back(pass);
  project.next_id = 3;
  return project;
}

/// Beats of an engine whose wheel turns with constant acceleration, each at its own angle.
dsp::BeatTrack beats(double from_kmh, double to_kmh, double seconds,
                     const std::vector<double>& angles_deg) {
  const double circumference_m = wheel_circumference_m(1400.0);
  const double v0 = from_kmh / 3.6;
  const double a = (to_kmh - from_kmh) / 3.6 / seconds;
  dsp::BeatTrack track;
  for (int turn = 0;; ++turn) {
    for (std::size_t k = 0; k < angles_deg.size(); ++k) {
      const double s_m = circumference_m * (turn + angles_deg[k] / 360.0);
      const double t = a == 0.0 ? s_m / v0 : (std::sqrt(v0 * v0 + 2.0 * a * s_m) - v0) / a;
      if (!(t < seconds)) {
        track.stretches.push_back(
            {{track.beats.front().frame, track.beats.back().frame + FrameCount(1)}, 0.1});
        return track;
      }
      dsp::Beat beat;
      beat.time_s = 1.0 + t;
      beat.frame = FrameIndex(std::llround(beat.time_s * rate_hz));
      beat.confidence = 1.0;
      beat.position = static_cast<int>(k);
      track.beats.push_back(beat);
    }
  }
}

work::TrackedTake tracked(const model::Project& project, int channel, dsp::BeatTrack track) {
  Result<work::TrackedTake> take =
      work::measure_take(project, project.takes[0].id, channel, std::move(track), {});
  REQUIRE(take);
  return *take;
}

}  // namespace

TEST_CASE("chuff builder: rows of an accelerating run cover rest to top speed without gaps",
          "[work]") {
  const model::Project project = project_with_take();
  const std::vector<double> limp{0.0, 94.0, 178.0, 272.0};
  const Result<work::ChuffBuild> build =
      work::build_chuffs(project, {tracked(project, 2, beats(8.0, 40.0, 60.0, limp))}, nullptr);
  REQUIRE(build);
  REQUIRE(build->table.rows.size() >= 5);
  double reached_kmh = 0.0;
  for (const model::ChuffRow& row : build->table.rows) {
    CHECK(row.effort == model::Effort::hard);
    CHECK(row.from_kmh == reached_kmh);
    CHECK(row.to_kmh > row.from_kmh);
    reached_kmh = row.to_kmh;
    REQUIRE(row.revolutions.size() == 2);
    for (const model::Revolution& revolution : row.revolutions) {
      REQUIRE(revolution.chuffs.size() == 4);
      CHECK(revolution.source.mix.front().channel == 2);
    }
  }
  CHECK(reached_kmh == 60.0);
}

TEST_CASE("chuff builder: the engine's own angles are measured, speed change taken out", "[work]") {
  const model::Project project = project_with_take();
  const std::vector<double> limp{0.0, 94.0, 178.0, 272.0};
  for (const double to_kmh : {10.0, 40.0}) {
    const Result<work::ChuffBuild> build = work::build_chuffs(
        project, {tracked(project, 2, beats(10.0, to_kmh, 40.0, limp))}, nullptr);
    REQUIRE(build);
    REQUIRE(build->measured_angles_deg.size() == 4);
    for (std::size_t k = 0; k < 4; ++k) {
      CHECK(build->measured_angles_deg[k] == Approx(limp[k]).margin(0.5));
    }
  }
}

TEST_CASE("chuff builder: every chuff begins the table's lead before its beat, on the pass clock",
          "[work]") {
  const model::Project project = project_with_take();
  const Result<work::ChuffBuild> build = work::build_chuffs(
      project, {tracked(project, 2, beats(20.0, 20.0, 30.0, {0.0, 90.0, 180.0, 270.0}))}, nullptr);
  REQUIRE(build);
  const auto lead = static_cast<std::int64_t>(build->table.lead_ms * rate_hz / 1000.0);
  for (const model::ChuffRow& row : build->table.rows) {
    CHECK(row.effort == model::Effort::easy);
    for (const model::Chuff& chuff : row.revolutions.front().chuffs) {
      CHECK((chuff.beat_frame - chuff.range.start).value() == lead);
      CHECK(chuff.beat_frame.value() >= rate_hz + 500);  // the take lies 500 frames into its pass
    }
  }
}

TEST_CASE("chuff builder: where the decoder bars overlap no chuff outlasts its row's top speed",
          "[work]") {
  const model::Project project = project_with_take();
  model::DecoderProfile profile;
  profile.chuffs_may_overlap = false;
  const Result<work::ChuffBuild> build = work::build_chuffs(
      project, {tracked(project, 2, beats(8.0, 40.0, 60.0, {0.0, 90.0, 180.0, 270.0}))}, &profile);
  REQUIRE(build);
  for (const model::ChuffRow& row : build->table.rows) {
    const double interval_s = beat_interval_s(row.to_kmh, 1400.0, 4);
    for (const model::Revolution& revolution : row.revolutions) {
      for (const model::Chuff& chuff : revolution.chuffs) {
        CHECK(static_cast<double>(chuff.range.length().value()) / rate_hz <=
              interval_s * 1.02 + 1e-4);
      }
    }
  }
}

TEST_CASE("chuff builder: beats without a whole revolution are an answer in words", "[work]") {
  const model::Project project = project_with_take();
  const Result<work::ChuffBuild> build =
      work::build_chuffs(project, {tracked(project, 1, {})}, nullptr);
  REQUIRE_FALSE(build);
  CHECK(build.error().code == ErrorCode::too_short);
}

TEST_CASE("chuff builder: another lead moves every chuff before its beat, and keeps its length",
          "[work]") {
  model::Project project = project_with_take();
  const Result<work::ChuffBuild> build = work::build_chuffs(
      project, {tracked(project, 2, beats(20.0, 20.0, 30.0, {0.0, 90.0, 180.0, 270.0}))}, nullptr);
  REQUIRE(build);
  project.chuffs = build->table;
  const Result<model::ChuffTable> led = work::with_lead(project, 12.5);
  REQUIRE(led);
  CHECK(led->lead_ms == 12.5);
  for (std::size_t r = 0; r < led->rows.size(); ++r) {
    for (std::size_t t = 0; t < led->rows[r].revolutions.size(); ++t) {
      const auto& chuffs = led->rows[r].revolutions[t].chuffs;
      for (std::size_t k = 0; k < chuffs.size(); ++k) {
        const model::Chuff& before = project.chuffs.rows[r].revolutions[t].chuffs[k];
        CHECK((chuffs[k].beat_frame - chuffs[k].range.start).value() == 600);
        CHECK(chuffs[k].beat_frame == before.beat_frame);
        CHECK(chuffs[k].range.length() == before.range.length());
      }
    }
  }
  CHECK_FALSE(work::with_lead(project, 51.0));
  // The first beat stands 2 ms into its take: no room for more.
  project.chuffs.rows[0].revolutions[0].chuffs[0].beat_frame = FrameIndex(500 + 96);
  const Result<model::ChuffTable> early = work::with_lead(project, 3.0);
  REQUIRE_FALSE(early);
  CHECK(early.error().place == "/chuffs/rows/0");
}

TEST_CASE("chuff builder: what rows serve from rest to top speed, and what they do not", "[work]") {
  model::ChuffTable table;
  const auto row = [&](double from_kmh, double to_kmh, model::Effort effort) {
    model::ChuffRow made;
    made.from_kmh = from_kmh;
    made.to_kmh = to_kmh;
    made.effort = effort;
    made.revolutions.emplace_back();
    table.rows.push_back(made);
  };
  row(20, 30, model::Effort::hard);
  row(5, 20, model::Effort::hard);
  row(40, 90, model::Effort::hard);
  row(0, 60, model::Effort::easy);
  const std::vector<work::EffortCoverage> all = work::coverage_of(table, 60.0);
  REQUIRE(all.size() == 3);
  CHECK(all[0].covered.empty());
  CHECK(all[0].missing == std::vector<work::SpeedRange>{{0, 60}});
  CHECK(all[1].covered == std::vector<work::SpeedRange>{{0, 60}});
  CHECK(all[1].missing.empty());
  CHECK(all[2].covered == std::vector<work::SpeedRange>{{5, 30}, {40, 60}});
  CHECK(all[2].missing == std::vector<work::SpeedRange>{{0, 5}, {30, 40}});
}
