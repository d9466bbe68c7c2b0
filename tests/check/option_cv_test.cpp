// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

/// An option on CV130 with the choices 0 and 1, as the CV table has it.
Case with_option(int cv = 130) {
  Case made = good_case();
  model::Option option;
  option.id = Id<model::Option>(70);
  option.name = "Pump";
  option.cv = cv;
  option.choices = {{0, "left", {}}, {1, "right", {}}};
  made.project.options.push_back(option);
  model::Cv listed;
  listed.id = Id<model::Cv>(71);
  listed.number = cv;
  listed.value = 1;
  made.project.cvs.push_back(listed);
  return made;
}

check::Snag only(const Case& made) {
  const auto snags = made.snags("option_cv");
  REQUIRE(snags.size() == 1);
  return snags[0];
}

}  // namespace

TEST_CASE("option_cv: an option on a listed CV of the makers' areas is no snag", "[check]") {
  // NMRA S-9.2.2 (July 2012), table 1: manufacturer unique.
  for (const int cv : {47, 64, 112, 256, 513, 879})
    CHECK(with_option(cv).snags("option_cv").empty());
}

TEST_CASE("option_cv: a CV with another use is an error, a paged one a warning", "[check]") {
  // NMRA S-9.2.2, table 1: CV65 kick start, 111 and 880 reserved, 257 to 512 indexed by CV31/32.
  for (const int cv : {3, 46, 65, 111, 880, 1024}) {
    const check::Snag snag = only(with_option(cv));
    CHECK(snag.severity == Severity::error);
    CHECK(snag.pointer == "/options/0/cv");
  }
  for (const int cv : {257, 512})
    CHECK(only(with_option(cv)).severity == Severity::warning);
}

TEST_CASE("option_cv: an effect's CV must lie in the makers' areas too", "[check]") {
  Case made = good_case();
  made.project.cvs[0].effect = model::CvEffect{};  // CV3
  const check::Snag snag = only(made);
  CHECK(snag.severity == Severity::error);
  CHECK(snag.pointer == "/cvs/0/number");
  made.project.cvs[0].number = 63;
  CHECK(made.snags("option_cv").empty());
  made.project.cvs[0].number = 2000;  // cv_out_of_range tells of it
  CHECK(made.snags("option_cv").empty());
}

TEST_CASE("option_cv: a CV that the set does not list", "[check]") {
  Case made = with_option();
  made.project.cvs.pop_back();
  check::Snag snag = only(made);
  CHECK(snag.severity == Severity::warning);  // an unlisted CV is 0, and 0 is a choice
  CHECK(snag.pointer == "/options/0/cv");
  made.project.options[0].choices[0].value = 2;
  snag = only(made);
  CHECK(snag.severity == Severity::error);
  CHECK(snag.message.find("CV130") != std::string::npos);
}

TEST_CASE("option_cv: a value that is none of the choices is an error", "[check]") {
  Case made = with_option();
  made.project.cvs.back().value = 7;
  const check::Snag snag = only(made);
  CHECK(snag.severity == Severity::error);
  CHECK(snag.pointer == "/cvs/2/value");
  CHECK(snag.message.find("option “Pump”") != std::string::npos);
}

TEST_CASE("option_cv: two options on one CV are an error", "[check]") {
  Case made = with_option();
  made.project.options.push_back(made.project.options[0]);
  made.project.options[1].id = Id<model::Option>(72);
  made.project.options[1].name = "Whistle";
  const check::Snag snag = only(made);
  CHECK(snag.severity == Severity::error);
  CHECK(snag.pointer == "/options/1/cv");
  CHECK(snag.message.find("option “Pump”") != std::string::npos);
  made.project.options[1].cv = 131;
  CHECK(only(made).message.find("does not list CV131") != std::string::npos);
}

TEST_CASE("option_cv: what asks for a value nobody offers is never in force", "[check]") {
  Case made = with_option();
  model::When when;
  when.option = Id<model::Option>(70);
  when.option_value = 1;
  made.project.keys[0].when = when;
  CHECK(made.snags("option_cv").empty());

  when.option_value = 3;
  made.project.keys[0].when = when;
  model::Trigger trigger;
  trigger.id = Id<model::Trigger>(73);
  trigger.when = when;
  made.project.triggers.push_back(trigger);
  model::Layer layer;
  layer.id = Id<model::Layer>(74);
  layer.when = when;
  made.project.layers.push_back(layer);
  made.project.keys[1].task = model::OptionKey{Id<model::Option>(70), 9, {}};
  const auto snags = made.snags("option_cv");
  REQUIRE(snags.size() == 4);
  CHECK(snags[0].pointer == "/keys/0/when/option");
  CHECK(snags[1].pointer == "/keys/1/task/option");
  CHECK(snags[2].pointer == "/triggers/0/when/option");
  CHECK(snags[3].pointer == "/layers/0/when/option");
  for (const check::Snag& snag : snags)
    CHECK(snag.severity == Severity::warning);
}
