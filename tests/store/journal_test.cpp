// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/journal.h"

#include "support/catch.h"
#include "support/temp_folder.h"

#include <cstdlib>

using namespace fourbeat;
using namespace fourbeat::store;

TEST_CASE("journal: what is set aside never takes the place of what was before, and comes back",
          "[store]") {
  const fourbeat::tests::TempFolder folder;
  ::setenv("FOURBEAT_STATE", folder.path().c_str(),
           1);  // NOLINT(concurrency-mt-unsafe): one thread
  const std::filesystem::path project = folder / "set.fourbeat";
  model::Project work;
  std::vector<std::filesystem::path> aside;
  for (const char* title : {"first", "second", "third"}) {
    work.title = title;
    REQUIRE(write_journal(project, work));
    const auto put = set_journal_aside(journal_path(project));
    REQUIRE(put);
    aside.push_back(*put);
  }
  CHECK(list_journals().empty());
  REQUIRE(list_journals_aside().size() == 3);
  const auto back = take_journal_back(aside[1]);
  REQUIRE(back);
  CHECK(*back == std::filesystem::weakly_canonical(project));
  CHECK(read_journal(journal_path(project))->project.title == "second");
  CHECK(list_journals_aside().size() == 2);
  // Work that came later is not written over.
  CHECK(take_journal_back(aside[0]).error().code == ErrorCode::bad_argument);
  CHECK(read_journal(journal_path(project))->project.title == "second");
  REQUIRE(remove_journal(project));
  REQUIRE(take_journal_back(aside[0]));
  CHECK(read_journal(journal_path(project))->project.title == "first");
  ::unsetenv("FOURBEAT_STATE");  // NOLINT(concurrency-mt-unsafe): one thread
}
