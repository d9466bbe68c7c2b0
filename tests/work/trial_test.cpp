// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/trial.h"

#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/store/data_files.h"

#include <fstream>

using namespace fourbeat;
using fourbeat::tests::TempFolder;

namespace {

void write(const std::filesystem::path& file, const std::string& text) {
  std::filesystem::create_directories(file.parent_path());
  std::ofstream(file) << text;
}

}  // namespace

TEST_CASE("trial: the card to start from is a card, and as long as the set's momentum needs",
          "[work]") {
  model::Project project;
  model::Key key;
  key.number = 7;
  project.keys.push_back(key);
  key.number = 2;
  project.keys.push_back(key);
  project.cvs.push_back({Id<model::Cv>(1), 3, 100, {}, {}, {}, {}});
  project.cvs.push_back({Id<model::Cv>(2), 4, 50, {}, {}, {}, {}});
  const Result<model::RunCard> card =
      store::parse_run_card(work::card_template(project), "card.json");
  REQUIRE(card);
  REQUIRE(card->moves.size() == 4);
  CHECK(std::get<model::MoveKey>(card->moves[0].what) == model::MoveKey{2, true});
  CHECK(std::get<model::MoveKey>(card->moves[1].what) == model::MoveKey{2, false});
  CHECK(std::get<model::MoveThrottle>(card->moves[2].what).step == 63);
  CHECK(std::get<model::MoveThrottle>(card->moves[3].what).step == 0);
  // Half the sweep of S-9.2.2: 100 × 0.896 / 2 s up, 50 × 0.896 / 2 s down.
  CHECK(card->moves[3].time_s - card->moves[2].time_s >= 44.8);
  CHECK(card->seconds - card->moves[3].time_s >= 22.4);
  CHECK(store::parse_run_card(work::card_template(model::Project()), "card.json"));
}

TEST_CASE("trial: a card is listed by its path from the project, and must lie below it", "[work]") {
  const TempFolder folder;
  const std::string text = work::card_template(model::Project());
  write(folder / "set" / "cards" / "one.json", text);
  write(folder / "elsewhere" / "two.json", text);
  write(folder / "set" / "cards" / "no-card.json", "{}");
  const Result<std::string> listed =
      work::listed_card_path(folder / "set", folder / "set" / "cards" / "one.json");
  REQUIRE(listed);
  CHECK(*listed == "cards/one.json");
  CHECK(work::load_listed_card(folder / "set", *listed));
  CHECK_FALSE(work::listed_card_path(folder / "set", folder / "elsewhere" / "two.json"));
  CHECK_FALSE(work::listed_card_path(folder / "set", folder / "set" / "cards" / "no-card.json"));
  CHECK_FALSE(work::listed_card_path(folder / "set", folder / "set" / "cards" / "gone.json"));
}
