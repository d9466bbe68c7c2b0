// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

Case case_of(double true_peak_dbtp, std::vector<std::string> sounding) {
  Case made = good_case();
  made.project.run_cards = {"cards/a.json", "cards/b.json"};
  made.facts.card_peaks.emplace(0, check::CardPeak{-3.0, 1.0, {}});
  made.facts.card_peaks.emplace(1, check::CardPeak{true_peak_dbtp, 12.34, std::move(sounding)});
  return made;
}

}  // namespace

TEST_CASE("no_head_room: a mix that just reaches full scale is no snag", "[check]") {
  CHECK(case_of(0.0, {}).snags("no_head_room").empty());
}

TEST_CASE("no_head_room: over it is a warning that says where, when and what sounds", "[check]") {
  Case bad = case_of(1.26, {"the chuffs", "“Bell”"});
  const auto snags = bad.snags("no_head_room");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == check::Severity::warning);
  CHECK(snags[0].pointer == "/run_cards/1");
  CHECK(snags[0].label == "run card “cards/b.json”");
  CHECK(snags[0].message.find("12.3 s") != std::string::npos);
  CHECK(snags[0].message.find("+1.26 dBTP") != std::string::npos);
  CHECK(snags[0].mend.find("1.3 dB") != std::string::npos);
  CHECK(snags[0].mend.find("(the chuffs, “Bell”)") != std::string::npos);
  // A fact about a card that is gone meanwhile says nothing.
  bad.project.run_cards.pop_back();
  CHECK(bad.snags("no_head_room").empty());
}

TEST_CASE("no_head_room: of many sounds the first four are named", "[check]") {
  const auto snags = case_of(0.01, {"a", "b", "c", "d", "e", "f"}).snags("no_head_room");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].mend.find("(a, b, c, d and 2 more)") != std::string::npos);
  CHECK(snags[0].mend.find("0.1 dB") != std::string::npos);
}
