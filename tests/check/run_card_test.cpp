// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;

TEST_CASE("run_card: cards that were read are no snag", "[check]") {
  Case good = good_case();
  good.project.run_cards = {"cards/a.json", "cards/b.json"};
  CHECK(good.snags("run_card").empty());
}

TEST_CASE("run_card: one that cannot be read is an error that names it and its fault", "[check]") {
  Case bad = good_case();
  bad.project.run_cards = {"cards/a.json", "cards/b.json"};
  bad.facts.card_errors.emplace(
      1, Error{ErrorCode::bad_input, "cards/b.json", "/moves/2", "no such key", "mend the move"});
  const auto snags = bad.snags("run_card");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == check::Severity::error);
  CHECK(snags[0].pointer == "/run_cards/1");
  CHECK(snags[0].label == "run card “cards/b.json”");
  CHECK(snags[0].message.find("/moves/2") != std::string::npos);
  CHECK(snags[0].message.find("no such key") != std::string::npos);
  CHECK(snags[0].mend == "mend the move");
  // A fact about a card that is gone meanwhile says nothing.
  bad.project.run_cards.pop_back();
  CHECK(bad.snags("run_card").empty());
}
