// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("too_few_voices: as many voices as there are is no snag", "[check]") {
  CHECK(good_case().snags("too_few_voices").empty());
}

TEST_CASE("too_few_voices: one more is a hint", "[check]") {
  Case bad = good_case();
  bad.facts.voices_peak = 5;
  const auto snags = bad.snags("too_few_voices");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::hint);
  CHECK(snags[0].message.find("5 voices") != std::string::npos);
}
