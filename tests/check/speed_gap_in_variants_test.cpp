// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("speed_gap_in_variants: a variant the engine reaches is no snag, one above is a hint",
          "[check]") {
  Case made = good_case();  // runs up to 60 km/h
  made.project.keys[1].by_speed = {{20.0, Id<model::Sound>(31), {}},
                                   {60.0, Id<model::Sound>(31), {}}};
  CHECK(made.snags("speed_gap_in_variants").empty());
  made.project.keys[1].by_speed[1].from_kmh = 60.5;
  const auto snags = made.snags("speed_gap_in_variants");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::hint);
  CHECK(snags[0].pointer == "/keys/1/by_speed/1/from_kmh");
  CHECK(snags[0].message.find("60.5 km/h") != std::string::npos);
}
