// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

/// Duties that are on, with a key for each chore.
Case with_chores() {
  Case made = good_case();
  made.project.duties = model::Duties{};
  made.project.duties->on = true;
  made.project.keys[0].task = model::ChoreKey{model::Chore::fire, {}};
  made.project.keys[1].task = model::ChoreKey{model::Chore::feed, {}};
  return made;
}

}  // namespace

TEST_CASE("duty_without_key: a key for each chore is no snag, nor are duties that never run",
          "[check]") {
  CHECK(good_case().snags("duty_without_key").empty());
  CHECK(with_chores().snags("duty_without_key").empty());
  Case idle = good_case();
  idle.project.duties = model::Duties{};
  CHECK(idle.snags("duty_without_key").empty());
}

TEST_CASE("duty_without_key: a chore without a key is an error", "[check]") {
  Case made = with_chores();
  made.project.keys[0].task.reset();
  auto snags = made.snags("duty_without_key");
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].severity == Severity::error);
  CHECK(snags[0].pointer == "/duties");
  CHECK(snags[0].message.find("coal") != std::string::npos);
  made.project.keys[1].task = model::BrakeKey{};
  snags = made.snags("duty_without_key");
  REQUIRE(snags.size() == 2);
  CHECK(snags[1].message.find("water") != std::string::npos);
}

TEST_CASE("duty_without_key: duties that a CV may put on need their keys", "[check]") {
  Case made = good_case();
  made.project.duties = model::Duties{};
  made.project.cvs[0].effect = model::CvEffect{};
  CHECK(made.snags("duty_without_key").empty());
  made.project.cvs[0].effect->target = model::CvTarget::duties;
  CHECK(made.snags("duty_without_key").size() == 2);
}

TEST_CASE("duty_without_key: a chore's key without duties is a warning", "[check]") {
  Case made = with_chores();
  made.project.duties->on = false;
  auto snags = made.snags("duty_without_key");
  REQUIRE(snags.size() == 2);
  CHECK(snags[0].severity == Severity::warning);
  CHECK(snags[0].pointer == "/keys/0/task");
  CHECK(snags[0].message.find("are off") != std::string::npos);
  made.project.duties.reset();
  snags = made.snags("duty_without_key");
  REQUIRE(snags.size() == 2);
  CHECK(snags[1].pointer == "/keys/1/task");
  CHECK(snags[1].message.find("has no duties") != std::string::npos);
}
