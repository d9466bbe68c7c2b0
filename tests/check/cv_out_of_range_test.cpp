// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

using namespace fourbeat;
using namespace fourbeat::tests;
using check::Severity;

namespace {

std::vector<check::Snag> snags_with(int number, int value) {
  Case made = good_case();
  made.project.cvs[1].number = number;
  made.project.cvs[1].value = value;
  return made.snags("cv_out_of_range");
}

Severity severity_of(int number, int value) {
  const auto snags = snags_with(number, value);
  REQUIRE(snags.size() == 1);
  CHECK(snags[0].pointer == "/cvs/1");
  CHECK(snags[0].label.find("CV") == 0);
  return snags[0].severity;
}

}  // namespace

TEST_CASE("cv_out_of_range: values of the standards pass", "[check]") {
  // NMRA S-9.2.2, table 1: addresses, momentum, the configuration byte's worked values.
  const std::vector<std::pair<int, int>> good{
      {1, 1},    {1, 127},  {17, 192}, {17, 231}, {18, 0},     {3, 255},
      {29, 6},   {29, 34},  {29, 38},  {29, 50},  {29, 14},    {29, 191},
      {19, 138}, {25, 154}, {27, 55},  {94, 255}, {1024, 255}, {112, 0}};
  for (const auto& [number, value] : good) {
    CAPTURE(number, value);
    CHECK(snags_with(number, value).empty());
  }
}

TEST_CASE("cv_out_of_range: a number or value that no CV has is an error", "[check]") {
  for (const auto& [number, value] : std::vector<std::pair<int, int>>{
           {0, 1}, {-1, 1}, {1025, 1}, {3, 256}, {3, -1}, {112, 256}}) {
    CAPTURE(number, value);
    CHECK(severity_of(number, value) == Severity::error);
  }
}

TEST_CASE("cv_out_of_range: a value outside its CV's range is an error", "[check]") {
  // NMRA S-9.2.2: CV1 is 1 to 127, CV17 is 192 to 231; CV29 bit 6 and CV27 bit 3 stay 0.
  for (const auto& [number, value] : std::vector<std::pair<int, int>>{
           {1, 0}, {1, 128}, {17, 191}, {17, 232}, {29, 64}, {27, 8}}) {
    CAPTURE(number, value);
    CHECK(severity_of(number, value) == Severity::error);
  }
}

TEST_CASE("cv_out_of_range: a CV that cannot be set, or is kept for later, is a warning",
          "[check]") {
  CHECK(severity_of(7, 1) == Severity::warning);
  CHECK(severity_of(8, 8) == Severity::warning);
  CHECK(severity_of(26, 0) == Severity::warning);
}

TEST_CASE("cv_out_of_range: without definitions only the bounds of every CV count", "[check]") {
  Case made = good_case();
  made.facts.cv_definitions.clear();
  made.project.cvs[0].number = 1;
  made.project.cvs[0].value = 200;
  CHECK(made.snags("cv_out_of_range").empty());
  made.project.cvs[0].value = 256;
  CHECK(made.snags("cv_out_of_range").size() == 1);
}
