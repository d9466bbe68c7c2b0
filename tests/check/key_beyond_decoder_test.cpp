// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("key_beyond_decoder: the last key of the decoder is no snag", "[check]") {
  Case good = good_case();
  good.project.keys[1].number = 12;
  CHECK(good.snags("key_beyond_decoder").empty());
}

TEST_CASE("key_beyond_decoder: the next one is an error", "[check]") {
  Case bad = good_case();
  bad.project.keys[1].number = 13;
  const auto snags = bad.snags("key_beyond_decoder");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/keys/1");
  CHECK(snags[0].message.find("F12") != std::string::npos);
}
