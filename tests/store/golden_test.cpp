// SPDX-License-Identifier: GPL-3.0-or-later
#include "json_text.h"
#include "support/catch.h"
#include "support/sample_project.h"

#include "fourbeat/base/files.h"
#include "fourbeat/store/project_file.h"

#include <algorithm>
#include <filesystem>

using namespace fourbeat;
using namespace fourbeat::store;

namespace {

std::filesystem::path golden(const std::string& name) {
  return std::filesystem::path(FOURBEAT_STORE_TESTS) / "golden" / name;
}

/// True when a value is inside another: equal, or an object or list whose parts are.
bool is_in(const Json& part, const Json& whole) {
  if (part.is_object() && whole.is_object()) {
    return std::all_of(part.items().begin(), part.items().end(), [&](const auto& item) {
      const auto found = whole.find(item.key());
      return found != whole.end() && is_in(item.value(), *found);
    });
  }
  if (part.is_array() && whole.is_array()) {
    return part.size() == whole.size() &&
           std::equal(part.begin(), part.end(), whole.begin(), is_in);
  }
  return part == whole;
}

}  // namespace

TEST_CASE("golden: a frozen version 1 project is read, and nothing of it is lost in writing",
          "[store]") {
  const Result<std::string> text =
      read_text_file(golden("version-1.fourbeat"), project_limit_bytes);
  REQUIRE(text);
  const Result<model::Project> project = parse_project(*text, "version-1.fourbeat");
  INFO((project ? std::string() : to_line(project.error())));
  REQUIRE(project);
  // What the format has gained since: members and kinds that a file may leave out.
  model::Project then = tests::sample_project();
  then.speaker.reset();
  then.engine.effort.reset();
  then.takes[0].chuff_source.reset();
  then.marks.resize(1);
  then.segments[0].loop->drift_db = 0.0;
  then.segments[0].loop->octave_drift_db.clear();
  for (model::ChuffRow& row : then.chuffs.rows) {
    row.condition = model::Condition::normal;
    row.derived.reset();
    row.fused.reset();
    for (model::Revolution& revolution : row.revolutions) {
      for (model::Chuff& chuff : revolution.chuffs)
        chuff.fade_in_frames = FrameCount(0);
    }
  }
  then.next_id = 14;
  CHECK(*project == then);
  const std::string written = project_text(*project);
  CHECK(is_in(Json::parse(*text), Json::parse(written)));
  CHECK(*parse_project(written, "written") == *project);
}
