// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("empty_set: a sound or a chuff is enough", "[check]") {
  Case good = good_case();
  CHECK(good.snags("empty_set").empty());
  good.project.chuffs.rows.clear();
  CHECK(good.snags("empty_set").empty());
}

TEST_CASE("empty_set: a set with nothing to play is unfinished, not broken", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows.clear();
  bad.project.sounds.clear();
  const auto snags = bad.snags("empty_set");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::hint);
}
