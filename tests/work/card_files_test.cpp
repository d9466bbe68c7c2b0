// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/card_files.h"

#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/base/files.h"
#include "fourbeat/store/data_files.h"

#include <fstream>

using namespace fourbeat;
using fourbeat::tests::TempFolder;
using work::CardInTheWay;

namespace {

work::StandardCardFiles write(const model::Project& project, const TempFolder& folder,
                              CardInTheWay others) {
  JobControl job;
  const auto files = work::write_standard_cards(project, folder.path(), others, job);
  if (!files) FAIL(to_line(files.error()));
  return *files;
}

}  // namespace

TEST_CASE("card files: standard cards are written once, and other files stay unless one says so",
          "[work]") {
  const TempFolder folder;
  const model::Project project;
  const auto first = write(project, folder, CardInTheWay::refuse);
  REQUIRE(first.paths.size() == 3);
  CHECK(first.written == first.paths);
  CHECK(first.in_the_way.empty());
  for (const std::string& path : first.paths)
    CHECK(store::load_run_card(folder / path));
  const auto again = write(project, folder, CardInTheWay::refuse);
  CHECK(again.paths == first.paths);
  CHECK(again.written.empty());

  const std::string mine = "mine";
  const std::filesystem::path kept = folder / first.paths[1];
  std::ofstream(kept) << mine;
  std::filesystem::remove(folder / first.paths[0]);
  const auto refused = write(project, folder, CardInTheWay::refuse);
  CHECK(refused.in_the_way == std::vector<std::string>{first.paths[1]});
  CHECK(refused.written.empty());
  CHECK_FALSE(std::filesystem::exists(folder / first.paths[0]));
  const auto beside = write(project, folder, CardInTheWay::keep);
  CHECK(beside.written == std::vector<std::string>{first.paths[0]});
  CHECK(beside.paths == std::vector<std::string>{first.paths[0], first.paths[2]});
  CHECK(*read_text_file(kept, 100) == mine);
  const auto over = write(project, folder, CardInTheWay::replace);
  CHECK(over.written == std::vector<std::string>{first.paths[1]});
  CHECK(store::load_run_card(kept));
}

TEST_CASE("card files: a take is never written over", "[work]") {
  const TempFolder folder;
  model::Project project;
  model::Take take;
  take.path = work::standard_card_path("shunting");
  project.takes.push_back(take);
  std::filesystem::create_directories(folder / "cards");
  std::ofstream(folder / take.path) << "sound";
  JobControl job;
  const auto files = work::write_standard_cards(project, folder.path(), CardInTheWay::replace, job);
  REQUIRE_FALSE(files);
  CHECK(files.error().code == ErrorCode::would_overwrite);
  CHECK(*read_text_file(folder / take.path, 100) == "sound");
}

TEST_CASE("card files: a list takes each path once, at its end", "[work]") {
  CHECK(work::listed_with({"b", "a"}, {"c", "a", "c"}) == std::vector<std::string>{"b", "a", "c"});
}
