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

TEST_CASE("unsigned_seam: the loop of a fused row counts as any other", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows[1].fused = good_fused();
  const auto snags = bad.snags("unsigned_seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/chuffs/rows/1/fused/loop");
  model::Verdict verdict;
  verdict.id = Id<model::Verdict>(21);
  verdict.row = bad.project.chuffs.rows[1].id;
  verdict.recipe = model::recipe_hash(bad.project, model::looped_pieces(bad.project).back());
  bad.project.verdicts.push_back(verdict);
  CHECK(bad.snags("unsigned_seam").empty());
  bad.project.chuffs.rows[1].fused->gain_db = 1.0;
  CHECK(bad.snags("unsigned_seam").size() == 1);
}

TEST_CASE("unsigned_seam: a rejected seam says that it was rejected", "[check]") {
  Case bad = good_case();
  bad.project.verdicts.front().kind = model::VerdictKind::rejected;
  const auto snags = bad.snags("unsigned_seam");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("rejected") != std::string::npos);
}
