// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "support/catch.h"

#include "fourbeat/base/files.h"

#include <nlohmann/json.hpp>

#include <fstream>
#include <string>

using namespace fourbeat;
using namespace fourbeat::tests;

TEST_CASE("cards: made for the set, written and listed once, never over another card", "[cli]") {
  using Json = nlohmann::json;
  const TempFolder folder;
  REQUIRE(run(folder, "new set.fourbeat --title T").status == 0);
  const auto listed = [&] {
    const Ran shown = run(folder, "show set.fourbeat /run_cards");
    REQUIRE(shown.status == 0);
    return Json::parse(shown.out);
  };
  const Ran told = run(folder, "cards set.fourbeat --json");
  REQUIRE(told.status == 0);
  const Json cards = Json::parse(told.out).at("cards");
  REQUIRE(cards.size() == 3);  // a set without keys
  CHECK(cards[0].at("path") == "cards/standard-start_run_stop.json");
  CHECK(cards[0].at("seconds").get<double>() > 20.0);
  CHECK(listed().empty());
  CHECK_FALSE(std::filesystem::exists(folder / "cards"));

  REQUIRE(run(folder, "cards set.fourbeat --write").status == 0);
  CHECK(listed().size() == 3);
  const Ran again = run(folder, "cards set.fourbeat --write");
  CHECK(again.status == 0);
  CHECK(listed().size() == 3);

  const std::string mine = R"({"format": "fourbeat-runcard", "version": 1, "seconds": 5})";
  std::ofstream(folder / "cards" / "standard-shunting.json") << mine;
  const Ran refused = run(folder, "cards set.fourbeat --write");
  CHECK(refused.status == 2);
  CHECK(refused.err.find("standard-shunting.json") != std::string::npos);
  CHECK(*read_text_file(folder / "cards" / "standard-shunting.json", 1000) == mine);
  REQUIRE(run(folder, "cards set.fourbeat --replace").status == 0);
  CHECK(*read_text_file(folder / "cards" / "standard-shunting.json", 100'000) != mine);
}
