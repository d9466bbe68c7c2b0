// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("sound_without_segment: whole sounds are no snag, with or without begin and release",
          "[check]") {
  Case good = good_case();
  CHECK(good.snags("sound_without_segment").empty());
  good.project.sounds[0].begin = {};
  good.project.sounds[0].release = {};
  CHECK(good.snags("sound_without_segment").empty());
}

TEST_CASE("sound_without_segment: what is not set or does not exist is an error at its place",
          "[check]") {
  Case bad = good_case();
  bad.project.sounds[0].begin = Id<model::Segment>(77);
  bad.project.sounds[0].hold = {};
  bad.project.sounds[1].segment = {};
  const auto snags = bad.snags("sound_without_segment");
  REQUIRE(snags.size() == 3);
  for (const check::Snag& snag : snags)
    CHECK(snag.severity == Severity::error);
  CHECK(snags[0].pointer == "/sounds/0/begin");
  CHECK(snags[1].pointer == "/sounds/0");
  CHECK(snags[2].pointer == "/sounds/1");
  CHECK(snags[2].label == "sound “Bell”");
}

TEST_CASE("sound_without_segment: a held sound needs a loop to hold", "[check]") {
  Case bad = good_case();
  bad.project.segments[1].loop.reset();
  const auto snags = bad.snags("sound_without_segment");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/sounds/0/hold");
  CHECK(snags[0].message.find("no loop") != std::string::npos);
}
