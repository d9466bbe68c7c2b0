// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("crossfade_too_long: a crossfade may use all there is", "[check]") {
  Case good = good_case();
  model::Loop& loop = *good.project.segments[1].loop;
  loop.crossfade_frames = FrameCount(10'000);  // as much as stands before the loop
  CHECK(good.snags("crossfade_too_long").empty());
  loop.crossfade_at = model::CrossfadeAt::start;  // as much as stands behind it
  CHECK(good.snags("crossfade_too_long").empty());
}

TEST_CASE("crossfade_too_long: a frame more than stands beside the loop is an error", "[check]") {
  for (const auto at : {model::CrossfadeAt::end, model::CrossfadeAt::start}) {
    Case bad = good_case();
    bad.project.segments[1].loop->crossfade_at = at;
    bad.project.segments[1].loop->crossfade_frames = FrameCount(10'001);
    const auto snags = bad.snags("crossfade_too_long");
    REQUIRE(snags.size() == 1);
    CHECK(snags[0].severity == Severity::error);
    CHECK(snags[0].pointer == "/segments/1/loop/crossfade_frames");
    CHECK(snags[0].message.find("10001") != std::string::npos);
    CHECK(snags[0].message.find("10000") != std::string::npos);
    CHECK((snags[0].message.find("end") != std::string::npos) == (at == model::CrossfadeAt::start));
  }
}

TEST_CASE("crossfade_too_long: a crossfade longer than its loop is an error", "[check]") {
  Case bad = good_case();
  bad.project.segments[1].loop->range = frame_range(1'110'000, 1'112'000);
  bad.project.segments[1].loop->crossfade_frames = FrameCount(2001);
  const auto snags = bad.snags("crossfade_too_long");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("2000 in the loop itself") != std::string::npos);
}

TEST_CASE("crossfade_too_long: a fused row has no more room than its material", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows[2].fused = good_fused();
  CHECK(bad.snags("crossfade_too_long").empty());
  bad.project.chuffs.rows[2].fused->loop.crossfade_frames = FrameCount(10'001);
  const auto snags = bad.snags("crossfade_too_long");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/chuffs/rows/2/fused/loop/crossfade_frames");
}
