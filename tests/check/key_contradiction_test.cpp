// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

/// The good project with a second use of F2.
Case with_second_use(model::KeyMode mode, model::KeyDirection first, model::KeyDirection second,
                     std::int64_t sound) {
  Case made = good_case();
  made.project.keys[0].direction = first;
  made.project.keys[1].number = 2;
  made.project.keys[1].mode = mode;
  made.project.keys[1].direction = second;
  made.project.keys[1].sound = Id<model::Sound>(sound);
  return made;
}

}  // namespace

TEST_CASE("key_contradiction: keys of their own, and one key by direction, are no snag",
          "[check]") {
  CHECK(good_case().snags("key_contradiction").empty());
  CHECK(with_second_use(model::KeyMode::latching, model::KeyDirection::forward,
                        model::KeyDirection::reverse, 31)
            .snags("key_contradiction")
            .empty());
}

TEST_CASE("key_contradiction: another mode in an overlapping direction is an error", "[check]") {
  const auto snags = with_second_use(model::KeyMode::latching, model::KeyDirection::any,
                                     model::KeyDirection::reverse, 30)
                         .snags("key_contradiction");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/keys/1");
  CHECK(snags[0].label == "key F2 “Bell”");
  CHECK(snags[0].message.find("momentary") != std::string::npos);
  CHECK(snags[0].message.find("/keys/0") != std::string::npos);
}

TEST_CASE("key_contradiction: another sound in the same direction is an error", "[check]") {
  const auto snags = with_second_use(model::KeyMode::momentary, model::KeyDirection::forward,
                                     model::KeyDirection::forward, 31)
                         .snags("key_contradiction");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("different sounds") != std::string::npos);
}
