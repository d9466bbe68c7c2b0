// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("wake_key: one key that puts the sound on is no snag, in two directions neither",
          "[check]") {
  Case made = good_case();
  CHECK(made.snags("wake_key").empty());
  made.project.keys[0].task = model::WakeKey{};
  CHECK(made.snags("wake_key").empty());
  made.project.keys[1].task = model::WakeKey{};
  made.project.keys[1].number = made.project.keys[0].number;
  CHECK(made.snags("wake_key").empty());
}

TEST_CASE("wake_key: a second key number is a warning", "[check]") {
  Case made = good_case();
  made.project.keys[0].task = model::WakeKey{};
  made.project.keys[1].task = model::WakeKey{};
  const auto snags = made.snags("wake_key");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/keys/1/task");
  CHECK(snags[0].message.find("key F2 “Whistle”") != std::string::npos);
}
