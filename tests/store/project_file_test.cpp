// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/project_file.h"

#include "support/catch.h"
#include "support/lively_project.h"
#include "support/temp_folder.h"

#include "fourbeat/base/text.h"
#include "fourbeat/model/members.h"
#include "fourbeat/model/validate.h"

#include <fmt/format.h>

#include <cerrno>

using namespace fourbeat;
using namespace fourbeat::store;
using fourbeat::tests::sample_project;
using fourbeat::tests::TempFolder;

namespace {

model::Project read_back(const std::string& text) {
  const Result<model::Project> project = parse_project(text, "p");
  INFO((project ? std::string() : to_line(project.error())));
  REQUIRE(project);
  return *project;
}

std::string with(std::string text, const std::string& old, const std::string& fresh) {
  const std::size_t at = text.find(old);
  REQUIRE(at != std::string::npos);
  return text.replace(at, old.size(), fresh);
}

Error refusal(const std::string& text) {
  const Result<model::Project> project = parse_project(text, "p.fourbeat");
  REQUIRE_FALSE(project);
  CHECK(project.error().file == "p.fourbeat");
  CHECK(to_line(project.error()).find('\n') == std::string::npos);
  return project.error();
}

int writes_until_fault = -1;
int fail_at_nth() {
  return writes_until_fault-- == 0 ? ENOSPC : 0;
}

}  // namespace

TEST_CASE("project: what makes a set live survives a round trip, unknown members too", "[store]") {
  const model::Project project = tests::lively_project();
  const std::string text = project_text(project);
  const Result<model::Project> read = parse_project(text, "p");
  REQUIRE(read);
  CHECK(*read == project);
  CHECK(project_text(*read) == text);
  CHECK(model::validate(project));
}

TEST_CASE("project: a set without driving of its own says nothing about it", "[store]") {
  const std::string text = project_text(sample_project());
  for (const char* name : {"driving", "duties", "triggers", "layers", "by_speed", "retrigger"}) {
    CHECK(text.find(fmt::format("\"{}\"", name)) == std::string::npos);
  }
}

TEST_CASE("project file: what is written is read back the same, unknown members too", "[store]") {
  const model::Project project = sample_project();
  const std::string text = project_text(project);
  CHECK(read_back(text) == project);
  CHECK(project_text(read_back(text)) == text);
  CHECK(read_back(project_text(model::Project{})) == model::Project{});
}

TEST_CASE("project file: the layout is stable, one item a line where it is short", "[store]") {
  model::Project project;
  project.title = "T";
  model::Key bell;
  bell.id = Id<model::Key>(1);
  bell.number = 2;
  bell.label = "Bell";
  bell.extra = {{"b", "1"}, {"a", "2"}};
  project.keys = {bell};
  project.next_id = 2;
  CHECK(project_text(project) == R"({
  "format": "fourbeat-project",
  "version": 1,
  "title": "T",
  "author": "",
  "date": "",
  "decoder": "",
  "user_notes": "",
  "engine": {"driver_diameter_mm": 1500, "beats_per_rev": 4, "top_speed_kmh": 80},
  "takes": [],
  "passes": [],
  "marks": [],
  "segments": [],
  "sounds": [],
  "chuffs": {"lead_ms": 5, "gain_db": 0, "priority": 90, "importance": 2, "rows": []},
  "keys": [
    {"id": 1, "number": 2, "label": "Bell", "mode": "latching", "direction": "any", "a": 2, "b": 1}
  ],
  "cvs": [],
  "verdicts": [],
  "run_cards": [],
  "next_id": 2
}
)");
}

TEST_CASE("project file: no line is longer than 100 columns where it could be broken", "[store]") {
  const std::string text = project_text(sample_project());
  std::size_t start = 0;
  int lines = 0;
  for (std::size_t end = text.find('\n'); end != std::string::npos; end = text.find('\n', start)) {
    CHECK(end - start <= 100);
    start = end + 1;
    ++lines;
  }
  CHECK(lines > 60);
  CHECK(text.find('\t') == std::string::npos);
  CHECK(start == text.size());
}

TEST_CASE("project file: numbers keep every bit, in their shortest form", "[store]") {
  model::Project project = sample_project();
  for (const double value : {0.1, -1.0 / 3.0, 5e-324, 1e-7, 39.999999999999993, -0.0, 12.0}) {
    project.segments[0].gain_db = value;
    CHECK(read_back(project_text(project)).segments[0].gain_db == value);
  }
  project.segments[0].gain_db = 0.1;
  CHECK(project_text(project).find("\"gain_db\": 0.1,") != std::string::npos);
  project.takes[0].frames = FrameCount(model::whole_limit);
  CHECK(read_back(project_text(project)).takes[0].frames == FrameCount(model::whole_limit));
}

TEST_CASE("project file: unknown members live through load, edit, undo and save", "[store]") {
  const std::string text = project_text(sample_project());
  model::Project project = read_back(text);
  const Result<model::Edit> trim =
      model::apply(project, model::TrimSegment{Id<model::Segment>(6), frame_range(0, 90'000)});
  REQUIRE(trim);
  const Result<model::Edit> gone =
      model::apply(project, model::Remove<model::Key>{Id<model::Key>(11)});
  REQUIRE(gone);
  CHECK(project_text(project).find("\"colour\"") != std::string::npos);
  CHECK(project_text(project).find("\"why\"") != std::string::npos);
  CHECK(project_text(project).find("\"icon\"") == std::string::npos);
  REQUIRE(model::apply(project, *gone));
  REQUIRE(model::apply(project, *trim));
  CHECK(project_text(project) == text);
}

TEST_CASE("project file: a file cut in half is refused by line and column", "[store]") {
  const std::string text = project_text(sample_project());
  const Error error = refusal(text.substr(0, text.size() / 2));
  CHECK(error.code == ErrorCode::bad_input);
  CHECK(error.place.substr(0, 5) == "line ");
  CHECK(error.detail == "the text ends in the middle");
  for (std::size_t length = 0; length + 2 < text.size(); length += 7) {
    CHECK_FALSE(parse_project(std::string_view(text).substr(0, length), "p"));
  }
}

TEST_CASE("project file: broken JSON is refused by line and column", "[store]") {
  CHECK(refusal("").detail == "the text ends in the middle");
  CHECK(refusal("{\n  \"a\": x").place == "line 2, column 8");
  CHECK(refusal("{\"ü\": x").place == "line 1, column 7");
  CHECK(refusal("{} {}").code == ErrorCode::bad_input);
  CHECK(refusal("{\"a\": \"\xff\"}").code == ErrorCode::bad_input);
  CHECK(refusal(R"({"a": NaN})").code == ErrorCode::bad_input);
  CHECK(refusal(R"({"a": "\ud800"})").code == ErrorCode::bad_input);
  CHECK(refusal(R"({"a": 1e999})").code == ErrorCode::not_finite);
  CHECK(refusal(R"({"a": -1e999})").place == "line 1, column 12");
}

TEST_CASE("project file: a member that is there twice is refused, at any depth", "[store]") {
  CHECK(refusal(R"({"a": 1, "a": 2})").place == "/a");
  CHECK(refusal(R"({"x": [0, {"a/b": {}, "a/b": 2}]})").place == "/x/1/a~1b");
}

TEST_CASE("project file: 64 levels are read, 65 and 100 000 are one clear error", "[store]") {
  const auto nested = [](std::size_t levels) {
    std::string text = project_text(model::Project{});
    const std::string deep = std::string(levels - 1, '[') + std::string(levels - 1, ']');
    return text.insert(text.rfind("\n}"), ",\n  \"deep\": " + deep);
  };
  CHECK(read_back(nested(64)).extra.count("deep") == 1);
  CHECK(refusal(nested(65)).code == ErrorCode::too_deep);
  CHECK(refusal(nested(100'000)).code == ErrorCode::too_deep);
  CHECK(refusal(std::string(100'000, '[')).code == ErrorCode::too_deep);
  std::string objects;
  for (int i = 0; i < 100'000; ++i) {
    objects += "{\"a\":";
  }
  CHECK(refusal(objects).code == ErrorCode::too_deep);
}

TEST_CASE("project file: over 64 MiB is refused before it is read", "[store]") {
  CHECK(refusal(std::string(static_cast<std::size_t>(project_limit_bytes) + 1, ' ')).code ==
        ErrorCode::too_large);
}

TEST_CASE("project file: a newer version is named as such, an impossible one refused", "[store]") {
  const std::string text = project_text(sample_project());
  const Error newer = refusal(with(text, "\"version\": 1", "\"version\": 2"));
  CHECK(newer.code == ErrorCode::newer_version);
  CHECK(newer.place == "/version");
  CHECK(refusal(with(text, "\"version\": 1", "\"version\": 0")).code == ErrorCode::bad_input);
  CHECK(refusal(with(text, "\"version\": 1", "\"version\": \"1\"")).place == "/version");
  CHECK(refusal(with(text, "  \"version\": 1,\n", "")).place == "/version");
  CHECK(refusal(with(text, "fourbeat-project", "fourbeat-runcard")).place == "/format");
  CHECK(refusal("[]").code == ErrorCode::bad_input);
  CHECK(refusal("null").code == ErrorCode::bad_input);
}

TEST_CASE("project file: saving is atomic, keeps the last good copy and writes what is read",
          "[store]") {
  const TempFolder folder;
  const std::filesystem::path path = folder / "set.fourbeat";
  model::Project project = sample_project();
  REQUIRE(save_project(path, project));
  project.title = "Second";
  REQUIRE(save_project(path, project));
  CHECK(*load_project(path) == project);
  const Result<model::Project> last_good = load_project(folder / "set.fourbeat.last-good");
  REQUIRE(last_good);
  CHECK(*last_good == sample_project());
}

TEST_CASE("project file: whichever step of a save fails, the project on disk is a whole one",
          "[store]") {
  const TempFolder folder;
  const std::filesystem::path path = folder / "set.fourbeat";
  model::Project project = sample_project();
  REQUIRE(save_project(path, project));
  project.title = "Second";
  int step = 0;
  for (;; ++step) {
    writes_until_fault = step;
    set_write_fault_for_tests(&fail_at_nth);
    const Status saved = save_project(path, project);
    set_write_fault_for_tests(nullptr);
    if (saved) break;
    CHECK(saved.error().code == ErrorCode::no_space);
    CHECK(*load_project(path) == sample_project());
  }
  CHECK(step >= 4);
  CHECK(*load_project(path) == project);
}

TEST_CASE("project file: nothing is saved that could not be opened again", "[store]") {
  const TempFolder folder;
  const std::filesystem::path path = folder / "set.fourbeat";
  REQUIRE(save_project(path, sample_project()));
  model::Project project = sample_project();
  project.segments[0].gain_db = std::nan("");
  const Status refused = save_project(path, project);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::not_finite);
  CHECK(refused.error().place == "/segments/0/gain_db");
  project = sample_project();
  project.takes[0].extra["deep"] = std::string(63, '[') + std::string(63, ']');
  CHECK(save_project(path, project).error().code == ErrorCode::too_deep);
  CHECK(*load_project(path) == sample_project());
}

TEST_CASE("project file: text that is not JSON in an unknown member is kept as a text", "[store]") {
  model::Project project;
  project.extra["odd"] = "[1, ";
  CHECK(read_back(project_text(project)).extra.at("odd") == "\"[1, \"");
  project.extra = {{"title", "\"other\""}, {"version", "9"}};
  CHECK(read_back(project_text(project)).title.empty());
}

TEST_CASE("project file: a folder and a missing file are refused", "[store]") {
  const TempFolder folder;
  CHECK(load_project(folder.path()).error().code == ErrorCode::not_a_file);
  CHECK(load_project(folder / "none").error().code == ErrorCode::not_found);
}

TEST_CASE("show: a JSON Pointer gives the value at its place", "[store]") {
  model::Project project = sample_project();
  CHECK(*show(project, "") + "\n" == project_text(project));
  CHECK(*show(project, "/title") == "\"Tern Valley 2-6-0 “Kühl”\"");
  CHECK(*show(project, "/segments/1/id") == "7");
  CHECK(*show(project, "/segments/0/loop/range") ==
        "{\n  \"start_frame\": 10000,\n  \"end_frame\": 50000\n}");
  CHECK(*show(project, "/chuffs/rows/0/effort") == "\"hard\"");
  project.extra = {{"a/b", "1"}, {"m~n", "2"}, {"", "3"}};
  CHECK(*show(project, "/a~1b") == "1");
  CHECK(*show(project, "/m~0n") == "2");
  CHECK(*show(project, "/") == "3");
  for (const std::string pointer :
       {"title", "/segments/2", "/segments/-", "/segments/01", "/segments/x", "/segments/0/none",
        "/title/0", "/m~2n", "/m~"}) {
    INFO(pointer);
    CHECK(show(project, pointer).error().code == ErrorCode::not_found);
    CHECK(show(project, pointer).error().place == pointer);
  }
}

TEST_CASE("pointers: an entity's place in the file shows that entity", "[store]") {
  const model::Project project = sample_project();
  CHECK(pointer_of(project, Id<model::Take>(2)) == "/takes/1");
  CHECK(pointer_of(project, Id<model::Pass>(4)) == "/passes/0");
  CHECK(pointer_of(project, Id<model::Segment>(7)) == "/segments/1");
  CHECK(pointer_of(project, Id<model::Sound>(8)) == "/sounds/0");
  CHECK(pointer_of(project, Id<model::ChuffRow>(10)) == "/chuffs/rows/0");
  CHECK(pointer_of(project, Id<model::Key>(11)) == "/keys/0");
  CHECK(pointer_of(project, Id<model::Cv>(12)) == "/cvs/0");
  CHECK(pointer_of(project, Id<model::Key>(99)).empty());
  CHECK(*show(project, pointer_of(project, Id<model::ChuffRow>(10)) + "/id") == "10");
}
