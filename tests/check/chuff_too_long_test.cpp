// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

#include "fourbeat/base/wheel.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

/// Frames between two beats of the good engine.
std::int64_t interval_frames(double speed_kmh) {
  return static_cast<std::int64_t>(beat_interval_s(speed_kmh, 1500.0, 4.0) * good_rate_hz);
}

void set_length(Case& made, std::size_t row, std::size_t chuff, std::int64_t frames) {
  model::Chuff& changed = made.project.chuffs.rows[row].revolutions[1].chuffs[chuff];
  changed.range.end = changed.range.start + FrameCount(frames);
}

}  // namespace

TEST_CASE("chuff_too_long: a chuff as long as its interval is no snag", "[check]") {
  Case good = good_case();
  CHECK(good.snags("chuff_too_long").empty());
  set_length(good, 0, 3, interval_frames(30.0));
  set_length(good, 1, 3, interval_frames(60.0));
  CHECK(good.snags("chuff_too_long").empty());
}

TEST_CASE("chuff_too_long: a longer one is told of once a row, with the worst", "[check]") {
  Case bad = good_case();
  set_length(bad, 1, 1, interval_frames(60.0) + 3);
  set_length(bad, 1, 3, interval_frames(60.0) + 480);
  const auto snags = bad.snags("chuff_too_long");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/chuffs/rows/1/revolutions/1/chuffs/3");
  CHECK(snags[0].message.find("2 of its chuffs") == 0);
  // pi × 1.5 m × 3.6 / (4 × 60 km/h) = 70.7 ms
  CHECK(snags[0].message.find("81 ms where 71 ms") != std::string::npos);
}

TEST_CASE("chuff_too_long: a decoder that lets chuffs overlap has no such snag", "[check]") {
  Case good = good_case();
  set_length(good, 1, 1, 20'000);
  good.facts.profile->chuffs_may_overlap = true;
  CHECK(good.snags("chuff_too_long").empty());
}

TEST_CASE("chuff_too_long: the engine's own angles and top speed count", "[check]") {
  Case made = good_case();
  // Beat 0 to 1 is 80 degrees of 90: the same chuff has less room there than after beat 1.
  made.project.engine.beat_angles_deg = {0.0, 80.0, 180.0, 270.0};
  const std::int64_t frames = interval_frames(60.0) * 85 / 90;
  set_length(made, 1, 1, frames);
  CHECK(made.snags("chuff_too_long").empty());
  set_length(made, 1, 0, frames);
  CHECK(made.snags("chuff_too_long").size() == 1);
  // The last interval runs on to the first beat of the next turn.
  made = good_case();
  made.project.engine.beat_angles_deg = {20.0, 100.0, 190.0, 280.0};
  set_length(made, 1, 3, interval_frames(60.0) * 98 / 90);
  CHECK(made.snags("chuff_too_long").empty());
  set_length(made, 1, 3, interval_frames(60.0) * 102 / 90);
  CHECK(made.snags("chuff_too_long").size() == 1);
  // A band that reaches beyond the engine is heard up to the engine's top speed.
  made = good_case();
  made.project.chuffs.rows[1].to_kmh = 120.0;
  CHECK(made.snags("chuff_too_long").empty());
  made.project.engine.top_speed_kmh = 120.0;
  CHECK(made.snags("chuff_too_long").size() == 1);
}
