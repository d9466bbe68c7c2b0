// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/sample_project.h"

#include "fourbeat/base/files.h"
#include "fourbeat/store/project_file.h"

#include <filesystem>

using namespace fourbeat;
using namespace fourbeat::store;

namespace {

std::filesystem::path golden(const std::string& name) {
  return std::filesystem::path(FOURBEAT_STORE_TESTS) / "golden" / name;
}

}  // namespace

TEST_CASE("golden: a frozen version 1 project is read, and written as it was", "[store]") {
  const Result<std::string> text =
      read_text_file(golden("version-1.fourbeat"), project_limit_bytes);
  REQUIRE(text);
  const Result<model::Project> project = parse_project(*text, "version-1.fourbeat");
  INFO((project ? std::string() : to_line(project.error())));
  REQUIRE(project);
  // What the format has gained since: members and kinds that a file may leave out.
  model::Project then = tests::sample_project();
  then.engine.effort.reset();
  then.takes[0].chuff_source.reset();
  then.marks.resize(1);
  then.next_id = 14;
  CHECK(*project == then);
  CHECK(project_text(*project) == *text);
}
