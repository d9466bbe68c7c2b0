// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("loop_outside_segment: a loop that ends where its segment ends is inside", "[check]") {
  Case good = good_case();
  good.project.segments[1].loop->range = good.project.segments[1].range;
  CHECK(good.snags("loop_outside_segment").empty());
}

TEST_CASE("loop_outside_segment: one frame before, one behind and no frame are errors", "[check]") {
  for (const FrameRange range :
       {frame_range(1'099'999, 1'150'000), frame_range(1'110'000, 1'160'001),
        frame_range(1'120'000, 1'120'000)}) {
    Case bad = good_case();
    bad.project.segments[1].loop->range = range;
    const auto snags = bad.snags("loop_outside_segment");
    REQUIRE(snags.size() == 1);
    CHECK(snags[0].severity == Severity::error);
    CHECK(snags[0].pointer == "/segments/1/loop/range");
    CHECK(snags[0].label == "segment “Segment B”");
  }
}

TEST_CASE("loop_outside_segment: the loop of a fused row stays in its material", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows[2].fused = good_fused();
  CHECK(bad.snags("loop_outside_segment").empty());
  bad.project.chuffs.rows[2].fused->loop.range.end = FrameIndex(5'096'001);
  const auto snags = bad.snags("loop_outside_segment");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/chuffs/rows/2/fused/loop/range");
  CHECK(snags[0].message.find("leaves the fused row's 5000000 to 5096000") != std::string::npos);
}
