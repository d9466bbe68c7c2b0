// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("derived_row: recorded rows are no snag", "[check]") {
  CHECK(good_case().snags("derived_row").empty());
}

TEST_CASE("derived_row: a derived one is a hint that says what it is made from", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows[1].derived = model::Derived{26.8, -0.5, {}};
  const auto snags = bad.snags("derived_row");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::hint);
  CHECK(snags[0].pointer == "/chuffs/rows/1");
  CHECK(snags[0].message == "it is made from what was recorded at 26.8 km/h");
}
