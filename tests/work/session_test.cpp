// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/session.h"

#include "support/catch.h"
#include "support/temp_folder.h"

using namespace fourbeat;
using fourbeat::tests::TempFolder;

TEST_CASE("session: a project made, changed and saved is read back as it was", "[work]") {
  const TempFolder folder;
  {
    Result<work::Session> made = work::Session::create(folder / "a.fourbeat", {});
    REQUIRE(made);
    REQUIRE(made->perform({model::SetTitle{"Sechs"}, model::SetCv{3, 12}}));
    REQUIRE(made->save());
  }
  const Result<work::Session> read = work::Session::open(folder / "a.fourbeat");
  REQUIRE(read);
  CHECK(read->project().title == "Sechs");
  REQUIRE(read->project().cvs.size() == 1);
  CHECK(read->project().cvs[0].value == 12);
}

TEST_CASE("session: a second writer and a second project of that name are refused", "[work]") {
  const TempFolder folder;
  const Result<work::Session> made = work::Session::create(folder / "a.fourbeat", {});
  REQUIRE(made);
  CHECK(work::Session::open_to_change(folder / "a.fourbeat").error().code == ErrorCode::locked);
  CHECK(work::Session::create(folder / "a.fourbeat", {}).error().code ==
        ErrorCode::would_overwrite);
}

TEST_CASE("session: one bad edit of several changes nothing", "[work]") {
  const TempFolder folder;
  Result<work::Session> made = work::Session::create(folder / "a.fourbeat", {});
  REQUIRE(made);
  CHECK_FALSE(
      made->perform({model::SetTitle{"new"}, model::Remove<model::Key>{Id<model::Key>(99)}}));
  CHECK(made->project().title.empty());
}

TEST_CASE("session: a project opened to read cannot be saved", "[work]") {
  const TempFolder folder;
  REQUIRE(work::Session::create(folder / "a.fourbeat", {}));
  Result<work::Session> read = work::Session::open(folder / "a.fourbeat");
  REQUIRE(read);
  CHECK_FALSE(read->save());
}
