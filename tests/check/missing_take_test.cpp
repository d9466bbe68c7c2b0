// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("missing_take: a take that is there is no snag", "[check]") {
  CHECK(good_case().snags("missing_take").empty());
}

TEST_CASE("missing_take: absent, changed, unreadable and outside are errors, each in its words",
          "[check]") {
  std::vector<std::string> messages;
  for (const auto state : {store::TakeState::missing, store::TakeState::changed,
                           store::TakeState::unreadable, store::TakeState::outside}) {
    Case bad = good_case();
    bad.facts.takes.front().state = state;
    bad.facts.takes.front().detail = "looked in the folder";
    const auto snags = bad.snags("missing_take");
    REQUIRE(snags.size() == 1);
    CHECK(snags[0].severity == Severity::error);
    CHECK(snags[0].pointer == "/takes/0");
    CHECK(snags[0].label == "take “takes/bank.wav”");
    CHECK(snags[0].message.find("looked in the folder") != std::string::npos);
    CHECK(std::find(messages.begin(), messages.end(), snags[0].message) == messages.end());
    messages.push_back(snags[0].message);
  }
}
