// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

/// The good project with its seam signed at a rate and depth, and stored at another.
Case stored_case(int heard_hz, int heard_bits, int stored_hz, int stored_bits) {
  Case made = good_case();
  made.project.verdicts.front().sample_rate_hz = heard_hz;
  made.project.verdicts.front().bits = heard_bits;
  model::PieceKey key;
  key.segment = Id<model::Segment>(11);
  made.facts.stored[key] = {stored_hz, stored_bits};
  return made;
}

}  // namespace

TEST_CASE("lower_encoding: stored as it was heard, or better, is no snag", "[check]") {
  CHECK(stored_case(22'050, 8, 22'050, 8).snags("lower_encoding").empty());
  CHECK(stored_case(22'050, 8, 44'100, 16).snags("lower_encoding").empty());
}

TEST_CASE("lower_encoding: a lower rate or depth is a hint, and so is a seam signed as recorded",
          "[check]") {
  for (const Case& bad : {stored_case(22'050, 8, 11'025, 8), stored_case(22'050, 16, 44'100, 8),
                          stored_case(0, 0, 44'100, 16)}) {
    const auto snags = bad.snags("lower_encoding");
    REQUIRE(snags.size() == 1);
    CHECK(snags[0].severity == check::Severity::hint);
    CHECK(snags[0].pointer == "/segments/1/loop");
  }
  Case rejected = stored_case(0, 0, 11'025, 8);
  rejected.project.verdicts.front().kind = model::VerdictKind::rejected;
  CHECK(rejected.snags("lower_encoding").empty());
}

TEST_CASE("lower_encoding: nothing is said while nothing is known of the fit", "[check]") {
  CHECK(good_case().snags("lower_encoding").empty());
}
