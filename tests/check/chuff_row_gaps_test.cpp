// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("chuff_row_gaps: rows that meet from rest to the top speed are no snag", "[check]") {
  Case good = good_case();
  CHECK(good.snags("chuff_row_gaps").empty());
  std::reverse(good.project.chuffs.rows.begin(), good.project.chuffs.rows.end());
  CHECK(good.snags("chuff_row_gaps").empty());
  good.project.chuffs.rows.clear();
  CHECK(good.snags("chuff_row_gaps").empty());
}

TEST_CASE("chuff_row_gaps: a gap at rest, in between and at the top is a warning", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows[0].from_kmh = 5.0;
  bad.project.chuffs.rows[1].from_kmh = 32.0;
  bad.project.chuffs.rows[1].to_kmh = 55.0;
  const auto snags = bad.snags("chuff_row_gaps");
  REQUIRE(snags.size() == 3);
  for (const check::Snag& snag : snags)
    CHECK(snag.severity == Severity::warning);
  CHECK(snags[0].pointer == "/chuffs/rows/0");
  CHECK(snags[0].message == "no row from 0.0 to 5.0 km/h");
  CHECK(snags[1].pointer == "/chuffs/rows/1");
  CHECK(snags[1].message == "no row from 30.0 to 32.0 km/h");
  CHECK(snags[2].message == "no row from 55.0 km/h to the top speed of 60.0 km/h");
}

TEST_CASE("chuff_row_gaps: rows of one effort that overlap are an error", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows[1].from_kmh = 25.0;
  const auto snags = bad.snags("chuff_row_gaps");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/chuffs/rows/1");
  CHECK(snags[0].message.find("25.0 to 30.0") != std::string::npos);
}

TEST_CASE("chuff_row_gaps: a row inside another does not hide what comes after", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows.push_back(good_row(43, 10.0, 20.0, model::Effort::hard));
  const auto snags = bad.snags("chuff_row_gaps");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/chuffs/rows/3");
}

TEST_CASE("chuff_row_gaps: a band that ends where it starts is an error", "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows.push_back(good_row(43, 60.0, 60.0, model::Effort::hard));
  const auto snags = bad.snags("chuff_row_gaps");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/chuffs/rows/3");
}

TEST_CASE("chuff_row_gaps: a revolution of too few chuffs, and none at all, are errors",
          "[check]") {
  Case bad = good_case();
  bad.project.chuffs.rows[0].revolutions[1].chuffs.pop_back();
  bad.project.chuffs.rows[2].revolutions.clear();
  const auto snags = bad.snags("chuff_row_gaps");
  REQUIRE(snags.size() == 2);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/chuffs/rows/0");
  CHECK(snags[0].message == "revolution 2 holds 3 chuffs, the engine gives 4 beats a turn");
  CHECK(snags[1].severity == Severity::error);
  CHECK(snags[1].pointer == "/chuffs/rows/2");
}

TEST_CASE("chuff_row_gaps: each condition has bands of its own, and need not reach the top",
          "[check]") {
  Case bad = good_case();
  model::ChuffRow row = good_row(43, 0.0, 10.0, model::Effort::hard);
  row.condition = model::Condition::cocks_open;
  bad.project.chuffs.rows.push_back(row);
  CHECK(bad.snags("chuff_row_gaps").empty());
  row = good_row(44, 12.0, 15.0, model::Effort::hard);
  row.condition = model::Condition::cocks_open;
  bad.project.chuffs.rows.push_back(row);
  auto snags = bad.snags("chuff_row_gaps");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].message == "no row from 10.0 to 12.0 km/h");
  CHECK(snags[0].label == "chuff row hard, cocks_open, 12.0 to 15.0 km/h");
  bad.project.chuffs.rows[4].from_kmh = 8.0;
  snags = bad.snags("chuff_row_gaps");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
}

TEST_CASE("chuff_row_gaps: a fused row needs no revolution", "[check]") {
  Case good = good_case();
  good.project.chuffs.rows[1].revolutions.clear();
  good.project.chuffs.rows[1].fused = good_fused();
  CHECK(good.snags("chuff_row_gaps").empty());
}
