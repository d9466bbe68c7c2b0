// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/sweep.h"

#include "support/catch.h"
#include "support/swept_table.h"
#include "work/impulse_table.h"

#include <cmath>

using namespace fourbeat;
using fourbeat::tests::impulses;
using fourbeat::tests::TempFolder;

namespace {

constexpr double rate_hz = tests::impulse_rate_hz;

/// Rows below and above 25 km/h: impulses 1 to 8, and 9 to 16.
model::Project two_rows(const TempFolder& folder, const std::vector<double>& angles_deg) {
  model::Project project = impulses(folder, angles_deg);
  project.engine.top_speed_kmh = 40.0;
  project.chuffs.rows[0].from_kmh = 0.0;
  project.chuffs.rows[0].to_kmh = 25.0;
  REQUIRE(model::apply(
      project, model::Add<model::ChuffRow>{tests::impulse_row(25.0, 40.1, 8), std::nullopt}));
  return project;
}

struct Expected {
  std::int64_t frame = 0;
  float height = 0.0F;
};

/// The beats of the closed form, as heard in two_rows().
std::vector<Expected> expected_of(const model::Engine& engine, const work::SweepParams& params) {
  std::vector<Expected> beats;
  for (const tests::ClosedFormBeat& beat : tests::closed_form_sweep(engine, params)) {
    const std::size_t row = beat.speed_kmh < 25.0 ? 0 : 8;
    const std::size_t nth = row + 4 * static_cast<std::size_t>(beat.turn % 2) + beat.position;
    beats.push_back({std::llround(tests::impulse_lead_frames + beat.time_s * rate_hz),
                     static_cast<float>(nth + 1) / 64.0F});
  }
  return beats;
}

}  // namespace

TEST_CASE("sweep: every beat of the table falls at its closed-form frame, to the sample",
          "[work]") {
  const TempFolder folder;
  const std::vector<double> limp{0.0, 97.5, 178.0, 271.0};
  const model::Project project = two_rows(folder, limp);
  work::SweepParams params;
  params.seconds_up = 9.0;
  params.seconds_at_top = 1.3;
  params.seconds_down = 7.0;
  JobControl job;
  const auto sweep = work::sweep_table(project, folder.path(), params, job);
  REQUIRE(sweep);
  const std::vector<Expected> expected = expected_of(project.engine, params);
  REQUIRE(expected.size() > 120);
  std::vector<Expected> heard;
  for (std::size_t i = 0; i < sweep->clip.samples.size(); ++i) {
    if (sweep->clip.samples[i] != 0.0F) {
      heard.push_back({static_cast<std::int64_t>(i), sweep->clip.samples[i]});
    }
  }
  REQUIRE(heard.size() == expected.size());
  REQUIRE(sweep->beats.size() == expected.size());
  int wrong = 0;
  for (std::size_t i = 0; i < expected.size(); ++i) {
    wrong += heard[i].frame == expected[i].frame && heard[i].height == expected[i].height &&
                     sweep->beats[i].frame.value() == expected[i].frame
                 ? 0
                 : 1;
  }
  CHECK(wrong == 0);
}

TEST_CASE("sweep: a change of rows keeps the place of the revolution", "[work]") {
  const TempFolder folder;
  const model::Project project = two_rows(folder, {});
  JobControl job;
  const auto sweep = work::sweep_table(project, folder.path(), {}, job);
  REQUIRE(sweep);
  REQUIRE(sweep->changes.size() == 2);
  for (const std::size_t change : sweep->changes)
    CHECK(sweep->beats[change].row != sweep->beats[change - 1].row);
  for (std::size_t i = 1; i < sweep->beats.size(); ++i)
    CHECK(sweep->beats[i].position == (sweep->beats[i - 1].position + 1) % 4);
  CHECK(sweep->beats[sweep->changes[0]].speed_kmh >= 25.0);
  CHECK(sweep->beats[sweep->changes[0] - 1].speed_kmh < 25.0);
}

TEST_CASE("sweep: one that would go over full scale is turned down as a whole", "[work]") {
  const TempFolder folder;
  model::Project project = two_rows(folder, {});
  JobControl job;
  const auto soft = work::sweep_table(project, folder.path(), {}, job);
  REQUIRE(soft);
  REQUIRE(soft->peak <= 1.0);
  CHECK(soft->turned_db == 0.0);
  project.chuffs.gain_db += 20.0;
  const auto loud = work::sweep_table(project, folder.path(), {}, job);
  REQUIRE(loud);
  CHECK(loud->peak == Approx(10.0 * soft->peak).epsilon(1e-5));
  REQUIRE(loud->peak > 1.0);
  CHECK(loud->beats == soft->beats);
  CHECK(loud->turned_db == Approx(-1.0 - 20.0 * std::log10(loud->peak)).margin(1e-9));
  // The same sound at another level, its peak 1 dB below full scale.
  const double ratio = 0.8912509381337456 / soft->peak;
  double worst = 0.0;
  for (std::size_t i = 0; i < soft->clip.samples.size(); ++i) {
    worst = std::max(worst, std::abs(ratio * static_cast<double>(soft->clip.samples[i]) -
                                     static_cast<double>(loud->clip.samples[i])));
  }
  CHECK(worst < 1e-5);
}

TEST_CASE("sweep: what cannot be swept is one error", "[work]") {
  const TempFolder folder;
  model::Project project = two_rows(folder, {});
  JobControl job;
  work::SweepParams params;
  params.seconds_down = 0.5;
  const auto fast = work::sweep_table(project, folder.path(), params, job);
  REQUIRE_FALSE(fast);
  CHECK(fast.error().place == "seconds_down");
  struct Stop : JobControl {
    [[nodiscard]] bool cancelled() const override { return true; }
  } stop;
  CHECK(work::sweep_table(project, folder.path(), {}, stop).error().code == ErrorCode::cancelled);
  project.chuffs.rows.clear();
  CHECK(work::sweep_table(project, folder.path(), {}, job).error().code == ErrorCode::too_short);
}
