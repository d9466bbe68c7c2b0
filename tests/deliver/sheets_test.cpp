// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/deliver/sheets.h"

#include "support/catch.h"
#include "tiny_bundle.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::deliver;

namespace {

SheetBlock table_with(const Sheet& sheet, const std::string& column) {
  const auto found =
      std::find_if(sheet.blocks.begin(), sheet.blocks.end(), [&](const SheetBlock& block) {
        return std::find(block.columns.begin(), block.columns.end(), column) != block.columns.end();
      });
  REQUIRE(found != sheet.blocks.end());
  return *found;
}

bool every_row_fits(const Sheet& sheet) {
  return std::all_of(sheet.blocks.begin(), sheet.blocks.end(), [](const SheetBlock& block) {
    return std::all_of(block.rows.begin(), block.rows.end(),
                       [&](const auto& row) { return row.size() == block.columns.size(); });
  });
}

}  // namespace

TEST_CASE("sheets: the loading sheet lists every file in order, loop ends inclusive", "[deliver]") {
  const auto sheet = loading_sheet(tiny_input());
  REQUIRE(sheet);
  CHECK(every_row_fits(*sheet));
  const auto files = table_with(*sheet, "File");
  REQUIRE(files.rows.size() == 8);
  CHECK(files.rows[1] == std::vector<std::string>{"2", "whistle_long-hold.wav", "11025 Hz",
                                                  "12 bit", "101 (0.009 s)", "20 to 79", "-4.3",
                                                  "F2", "☐"});
  CHECK(files.rows[4][7] == "chuff row 1, turn 1, beat 1");
  CHECK(table_with(*sheet, "Hold").rows.at(1) ==
        std::vector<std::string>{"F2", "Whistle", "momentary", "any", "whistle_long-begin.wav",
                                 "whistle_long-hold.wav", "whistle_long-release.wav", ""});
  CHECK(table_with(*sheet, "CV").rows.at(0).at(3) == "=1+1");
}

TEST_CASE("sheets: the loading sheet refuses pieces that are not the fit's", "[deliver]") {
  auto input = tiny_input();
  input.fit.sounds.pop_back();
  const auto sheet = loading_sheet(input);
  REQUIRE_FALSE(sheet);
  CHECK(sheet.error().code == ErrorCode::bad_argument);
}

TEST_CASE("sheets: the day sheet opens with its cautions and says what is at hand", "[deliver]") {
  const Sheet sheet = day_sheet(tiny_project());
  CHECK(every_row_fits(sheet));
  REQUIRE(sheet.blocks.size() > 7);
  std::string cautions;
  for (std::size_t i = 1; i < 7; ++i) {
    CHECK(sheet.blocks[i].kind == SheetBlock::Kind::caution);
    cautions += sheet.blocks[i].text;
  }
  for (const char* word : {"permission", "competent person", "railway's rules", "hearing",
                           "moving and hot", "Secure every microphone", "local law"})
    CHECK(cautions.find(word) != std::string::npos);
  const auto wanted = table_with(sheet, "Microphone");
  const auto in_project = [&](const std::string& sound) {
    for (const auto& row : wanted.rows) {
      if (row[0].rfind(sound, 0) == 0) return row[3];
    }
    return std::string("no such row");
  };
  CHECK(in_project("Whistle") == "Whistle, long");
  CHECK(in_project("Beats, working hard") == "one chuff row");
  CHECK(in_project("Safety valves") == "nothing yet");
}

TEST_CASE("sheets: the day sheet counts beats for a known speed", "[deliver]") {
  const auto speeds = table_with(day_sheet(tiny_project()), "km/h");
  REQUIRE(speeds.rows.size() == 6);
  // 20 km/h on 1 m wheels, 4 beats a turn: 10 s × 20 / 3.6 × 4 / pi = 70.7 beats.
  CHECK(speeds.rows[1] == std::vector<std::string>{"20", "71", "106"});
}
