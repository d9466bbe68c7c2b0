// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

TEST_CASE("no_rights: a used pass with rights, and an unused one without, are no snag", "[check]") {
  Case good = good_case();
  CHECK(good.snags("no_rights").empty());
  model::Pass other;
  other.id = Id<model::Pass>(3);
  good.project.passes.push_back(other);
  CHECK(good.snags("no_rights").empty());
}

TEST_CASE("no_rights: a used pass without them is one warning, however often it is used",
          "[check]") {
  Case bad = good_case();
  bad.project.passes.front().rights.reset();
  auto snags = bad.snags("no_rights");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/passes/0");
  CHECK(snags[0].label == "pass “Up the bank”");
  bad.project.passes.front().rights = model::Rights{"", "this set", "", {}};
  CHECK(bad.snags("no_rights").size() == 1);
}

TEST_CASE("no_rights: a chuff uses its pass as a sound does", "[check]") {
  Case bad = good_case();
  bad.project.passes.front().rights.reset();
  bad.project.sounds.clear();
  CHECK(bad.snags("no_rights").size() == 1);
}

TEST_CASE("no_rights: rights hold on their last day and not after it", "[check]") {
  Case made = good_case();
  made.project.passes.front().rights->until = "2024-05-01";
  CHECK(made.snags("no_rights").empty());
  made.project.date = "2024-05-02";
  const auto snags = made.snags("no_rights");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].message.find("2024-05-01") != std::string::npos);
  made.project.date = "";
  CHECK(made.snags("no_rights").empty());
  made.project.date = "2099-01-01";
  made.project.passes.front().rights->until = "";
  CHECK(made.snags("no_rights").empty());
}
