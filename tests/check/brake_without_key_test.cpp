// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("brake_without_key: an engine that coasts until braked needs a brake key", "[check]") {
  Case made = good_case();
  CHECK(made.snags("brake_without_key").empty());
  made.project.driving.coasts_until_braked = true;
  const auto snags = made.snags("brake_without_key");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/driving/coasts_until_braked");
  made.project.keys[0].task = model::SoftenKey{};
  CHECK(made.snags("brake_without_key").size() == 1);
  made.project.keys[1].task = model::BrakeKey{};
  CHECK(made.snags("brake_without_key").empty());
}
