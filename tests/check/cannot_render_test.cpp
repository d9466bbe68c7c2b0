// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("cannot_render: a segment that was rendered is no snag", "[check]") {
  CHECK(good_case().snags("cannot_render").empty());
}

TEST_CASE("cannot_render: a segment and a row that could not be made are errors", "[check]") {
  Case bad = good_case();
  const Error error{ErrorCode::bad_input, {}, {}, "channel 7 of a take with 2", {}};
  bad.facts.render_errors.emplace(Id<model::Segment>(12), error);
  bad.facts.chuff_errors.emplace(Id<model::ChuffRow>(41), error);
  const auto snags = bad.snags("cannot_render");
  REQUIRE(snags.size() == 2);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/segments/2");
  CHECK(snags[0].message.find("channel 7") != std::string::npos);
  CHECK(snags[1].pointer == "/chuffs/rows/1");
}

TEST_CASE("cannot_render: a take that is known to be missing is told of once, elsewhere",
          "[check]") {
  Case bad = good_case();
  bad.facts.render_errors.emplace(Id<model::Segment>(12),
                                  Error{ErrorCode::not_found, {}, {}, {}, {}});
  bad.facts.takes.front().state = store::TakeState::missing;
  CHECK(bad.snags("cannot_render").empty());
  CHECK(bad.snags("missing_take").size() == 1);
}
