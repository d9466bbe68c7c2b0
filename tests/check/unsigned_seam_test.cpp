// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("unsigned_seam: a signed seam, and a loop that no sound plays, are no snag", "[check]") {
  Case good = good_case();
  CHECK(good.snags("unsigned_seam").empty());
  good.project.verdicts.clear();
  good.project.sounds.erase(good.project.sounds.begin());
  CHECK(good.snags("unsigned_seam").empty());
}

TEST_CASE("unsigned_seam: no verdict is a warning", "[check]") {
  Case bad = good_case();
  bad.project.verdicts.clear();
  const auto snags = bad.snags("unsigned_seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/segments/1/loop");
}

TEST_CASE("unsigned_seam: a verdict lapses when what was heard changes", "[check]") {
  Case bad = good_case();
  bad.project.segments[1].loop->crossfade_frames = FrameCount(4801);
  CHECK(bad.snags("unsigned_seam").size() == 1);
}

TEST_CASE("unsigned_seam: a rejected seam says that it was rejected", "[check]") {
  Case bad = good_case();
  bad.project.verdicts.front().kind = model::VerdictKind::rejected;
  const auto snags = bad.snags("unsigned_seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("rejected") != std::string::npos);
}
