// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("no_decoder: a chosen decoder is no snag, none is a hint", "[check]") {
  Case made = good_case();
  CHECK(made.snags("no_decoder").empty());
  made.project.decoder.clear();
  const auto snags = made.snags("no_decoder");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::hint);
  CHECK(snags[0].pointer == "/decoder");
}
