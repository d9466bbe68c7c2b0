// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/row_preview.h"

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/impulse_table.h"

using namespace fourbeat;
using fourbeat::tests::impulses;
using fourbeat::tests::TempFolder;

TEST_CASE("row preview: each beat falls at its closed-form time, its revolutions in turn",
          "[work]") {
  const TempFolder folder;
  const std::vector<double> limp{0.0, 97.5, 178.0, 271.0};
  const model::Project project = impulses(folder, limp);
  const double speed_kmh = 20.0;
  JobControl job;
  const auto preview =
      work::preview_row(project, folder.path(), project.chuffs.rows[0].id, speed_kmh, 3.0, job);
  REQUIRE(preview);
  REQUIRE(preview->clip.samples.size() == std::size_t{3} * tests::impulse_rate_hz);
  // One turn of a 1 m wheel at v m/s takes pi / v seconds.
  const double turn_s = 3.14159265358979323846 * 1.0 / (speed_kmh / 3.6);
  std::vector<std::int64_t> expected;
  std::vector<float> heights;
  for (int turn = 0; turn < 20; ++turn) {
    for (std::size_t k = 0; k < 4; ++k) {
      const double beat_s = (turn + limp[k] / 360.0) * turn_s;
      const std::int64_t frame = std::llround(static_cast<double>(tests::impulse_lead_frames) +
                                              beat_s * tests::impulse_rate_hz);
      if (frame >= std::int64_t{3} * tests::impulse_rate_hz) continue;
      expected.push_back(frame);
      heights.push_back(static_cast<float>(4 * static_cast<std::size_t>(turn % 2) + k + 1) / 64.0F);
    }
  }
  REQUIRE(expected.size() > 15);
  std::vector<std::int64_t> heard;
  std::vector<float> heard_heights;
  for (std::size_t i = 0; i < preview->clip.samples.size(); ++i) {
    if (preview->clip.samples[i] == 0.0F) continue;
    heard.push_back(static_cast<std::int64_t>(i));
    heard_heights.push_back(preview->clip.samples[i]);
  }
  CHECK(heard == expected);
  CHECK(heard_heights == heights);
  REQUIRE(preview->beats.size() == expected.size());
  for (std::size_t i = 0; i < expected.size(); ++i)
    CHECK(preview->beats[i].value() == expected[i]);
}

TEST_CASE("row preview: one that would go over full scale is turned down as a whole", "[work]") {
  const TempFolder folder;
  model::Project project = impulses(folder, {});
  const Id<model::ChuffRow> row = project.chuffs.rows[0].id;
  JobControl job;
  const auto soft = work::preview_row(project, folder.path(), row, 20.0, 3.0, job);
  REQUIRE(soft);
  CHECK(soft->turned_db == 0.0);
  project.chuffs.gain_db += 40.0;
  const auto loud = work::preview_row(project, folder.path(), row, 20.0, 3.0, job);
  REQUIRE(loud);
  CHECK(loud->beats == soft->beats);
  float peak_before = 0.0F;
  float peak = 0.0F;
  for (const float sample : soft->clip.samples)
    peak_before = std::max(peak_before, std::fabs(sample));
  for (const float sample : loud->clip.samples)
    peak = std::max(peak, std::fabs(sample));
  REQUIRE(peak_before * 100.0F > 1.0F);
  CHECK(peak == Approx(std::pow(10.0, -0.05)).epsilon(1e-5));
  CHECK(loud->turned_db ==
        Approx(-41.0 - 20.0 * std::log10(static_cast<double>(peak_before))).margin(1e-4));
}

TEST_CASE("row preview: what cannot be played is one error", "[work]") {
  const TempFolder folder;
  model::Project project = impulses(folder, {});
  JobControl job;
  const Id<model::ChuffRow> row = project.chuffs.rows[0].id;
  const auto code = [&](Id<model::ChuffRow> id, double speed_kmh, double seconds) {
    const auto preview = work::preview_row(project, folder.path(), id, speed_kmh, seconds, job);
    return preview ? ErrorCode::internal : preview.error().code;
  };
  CHECK(code(Id<model::ChuffRow>(99), 20.0, 1.0) == ErrorCode::not_found);
  CHECK(code(row, 0.0, 1.0) == ErrorCode::bad_argument);
  CHECK(code(row, 20.0, 0.0) == ErrorCode::bad_argument);
  project.chuffs.rows[0].revolutions.clear();
  CHECK(code(row, 20.0, 1.0) == ErrorCode::too_short);
  CHECK(work::middle_speed_kmh(project.chuffs.rows[0]) == Approx(20.0));
}
