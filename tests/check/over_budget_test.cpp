// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("over_budget: a set that fills the decoder to the byte and the piece is no snag",
          "[check]") {
  Case good = good_case();
  good.facts.bytes_used = good.facts.profile->memory_bytes;
  good.facts.profile->max_sounds = 28;  // four segments, three rows of eight chuffs
  CHECK(good.snags("over_budget").empty());
}

TEST_CASE("over_budget: one byte more is an error", "[check]") {
  Case bad = good_case();
  bad.facts.bytes_used = bad.facts.profile->memory_bytes + 1;
  const auto snags = bad.snags("over_budget");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/decoder");
  CHECK(snags[0].message.find("1000001") != std::string::npos);
}

TEST_CASE("over_budget: one piece more is an error, whatever the bytes", "[check]") {
  Case bad = good_case();
  bad.facts.bytes_used.reset();
  bad.facts.profile->max_sounds = 27;
  const auto snags = bad.snags("over_budget");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].message.find("28 pieces") != std::string::npos);
}
