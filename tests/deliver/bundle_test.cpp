// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/temp_folder.h"
#include "tables.h"
#include "tiny_bundle.h"

#include "fourbeat/base/sha256.h"

#include <cstdlib>

using namespace fourbeat;
using namespace fourbeat::tests;
using deliver::make_bundle;

namespace {

const char* const keys_csv =
    "key,label,mode,direction,sound,kind,begin_file,hold_file,release_file,one_shot_file\r\n"
    "F1,\"Bell \"\"ding\"\", small\",latching,forward,Bell,one_shot,,,,sounds/bell.wav\r\n"
    "F2,Whistle,momentary,any,\"Whistle, long\",held,sounds/whistle_long-begin.wav,"
    "sounds/whistle_long-hold.wav,sounds/whistle_long-release.wav,\r\n";

const char* const cvs_csv =
    "number,value,name,note\r\n"
    "3,20,Acceleration rate,'=1+1\r\n"
    "4,10,Deceleration rate,\r\n";

// 1 m wheels: a turn is pi m, so 10 km/h is 1000/60 × 10 / pi = 53.05 turns a minute, and a beat
// every pi × 3.6 / (4 × 10) = 0.2827 s.
const char* const first_chuff =
    "row,effort,from_kmh,middle_kmh,to_kmh,from_rpm,middle_rpm,to_rpm,from_interval_s,"
    "middle_interval_s,to_interval_s,revolution,position,angle_deg,file,"
    "condition,recorded_kmh\r\n"
    "1,hard,0.00,10.00,20.00,0.00,53.05,106.10,,0.2827,0.1414,1,1,0.00,"
    "sounds/chuff-hard-000-r1-1.wav,normal,\r\n"
    "1,hard,0.00,10.00,20.00,0.00,53.05,106.10,,0.2827,0.1414,1,2,90.00,";

}  // namespace

TEST_CASE("bundle: its files are those the format names, in the order of their names",
          "[deliver]") {
  std::vector<std::string> names;
  for (const auto& file : tiny_bundle())
    names.push_back(file.path);
  REQUIRE(names == std::vector<std::string>{
                       "SHA256SUMS", "chuffs.csv", "cvs.csv", "keys.csv", "manifest.json",
                       "notes.html", "sounds/bell.wav", "sounds/chuff-hard-000-r1-1.wav",
                       "sounds/chuff-hard-000-r1-2.wav", "sounds/chuff-hard-000-r1-3.wav",
                       "sounds/chuff-hard-000-r1-4.wav", "sounds/whistle_long-begin.wav",
                       "sounds/whistle_long-hold.wav", "sounds/whistle_long-release.wav"});
}

TEST_CASE("bundle: the tables hold keys, CVs and chuffs as the format says", "[deliver]") {
  const auto files = tiny_bundle();
  CHECK(content_of(files, "keys.csv") == keys_csv);
  CHECK(content_of(files, "cvs.csv") == cvs_csv);
  CHECK(content_of(files, "chuffs.csv").rfind(first_chuff, 0) == 0);
}

TEST_CASE("bundle: the same input gives the same bytes", "[deliver]") {
  const auto once = tiny_bundle();
  const auto again = tiny_bundle();
  REQUIRE(once.size() == again.size());
  for (std::size_t i = 0; i < once.size(); ++i) {
    CHECK(once[i].path == again[i].path);
    CHECK(once[i].content == again[i].content);
  }
}

TEST_CASE("bundle: sums list every other file, sorted", "[deliver]") {
  const auto files = tiny_bundle();
  std::string wanted;
  for (const auto& file : files) {
    if (file.path != "SHA256SUMS") wanted += sha256_hex(file.content) + "  " + file.path + "\n";
  }
  CHECK(content_of(files, "SHA256SUMS") == wanted);
}

TEST_CASE("bundle: sha256sum -c accepts it as written", "[deliver]") {
  if (std::system("command -v sha256sum >/dev/null 2>&1") != 0) {
    WARN("sha256sum is not here: skipped");
    return;
  }
  const TempFolder folder;
  JobControl job;
  REQUIRE(deliver::write_bundle(tiny_bundle(), folder / "out", job));
  const std::string command =
      "cd '" + (folder / "out").string() + "' && sha256sum --strict -c SHA256SUMS >/dev/null 2>&1";
  CHECK(std::system(command.c_str()) == 0);
  write_whole(folder / "out/cvs.csv", "x");
  CHECK(std::system(command.c_str()) != 0);
}

TEST_CASE("bundle: an error snag refuses, and the first ones are named", "[deliver]") {
  auto input = tiny_input();
  for (const char* label : {"A", "B", "C", "D"}) {
    input.snags.push_back({"missing_take", check::Severity::error, "/takes/0",
                           std::string("take ") + label, "it is missing", "relink it"});
  }
  const auto files = make_bundle(input);
  REQUIRE_FALSE(files);
  CHECK(files.error().code == ErrorCode::refused);
  CHECK(files.error().detail ==
        "take A: it is missing; take B: it is missing; take C: it is missing; and 1 more");
}

TEST_CASE("bundle: a fit that does not fit refuses", "[deliver]") {
  auto input = tiny_input();
  input.fit.fits = false;
  const auto files = make_bundle(input);
  REQUIRE_FALSE(files);
  CHECK(files.error().code == ErrorCode::refused);
  CHECK(files.error().detail.find("of 100000") != std::string::npos);
}

TEST_CASE("bundle: pieces and fit that do not belong together are an error", "[deliver]") {
  auto input = tiny_input();
  SECTION("one missing") {
    input.fit.sounds.pop_back();
  }
  SECTION("another order") {
    std::swap(input.fit.sounds[0], input.fit.sounds[1]);
  }
  SECTION("a name that is not ours") {
    input.pieces[0].name = "../x";
  }
  SECTION("a name twice") {
    input.pieces[1].name = input.pieces[0].name;
    input.fit.sounds[1].name = input.pieces[0].name;
  }
  SECTION("half a hertz") {
    input.fit.sounds[0].encoded.clip.sample_rate_hz = 11'025.5;
  }
  const auto files = make_bundle(input);
  REQUIRE_FALSE(files);
  CHECK(files.error().code == ErrorCode::bad_argument);
}

TEST_CASE("bundle: an empty project gives a bundle without sounds", "[deliver]") {
  const auto files = make_bundle(input_of(model::Project{}, tiny_profile()));
  REQUIRE(files);
  CHECK(files->size() == 6);
}

TEST_CASE("bundle: the table of chuffs tells conditions, derived rows and loops", "[deliver]") {
  model::Project project = tiny_project();
  model::ChuffRow& row = project.chuffs.rows[0];
  row.condition = model::Condition::heavy_start;
  row.derived = model::Derived{25.0, -1.0, {}};
  row.fused = model::FusedLoop{
      row.revolutions[0].source,
      frame_range(0, 48'000),
      {frame_range(100, 40'000), FrameCount(50), model::CrossfadeAt::end, 0.0, {}, {}},
      40.0,
      0.0,
      {}};
  const std::vector<deliver::CsvRow> rows =
      deliver::chuffs_table(project, model::list_pieces(project));
  REQUIRE(rows.size() == 6);
  CHECK(rows[1][15] == "heavy_start");
  CHECK(rows[1][16] == "25.00");
  CHECK(rows[5][11].empty());
  CHECK(rows[5][12].empty());
  CHECK(rows[5][13].empty());
  CHECK(rows[5][14] == "sounds/chuff-hard-000-heavy_start-loop.wav");
}
