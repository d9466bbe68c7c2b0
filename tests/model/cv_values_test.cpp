// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/cv_values.h"

#include "support/catch.h"

using namespace fourbeat;
using namespace fourbeat::model;

TEST_CASE("cv values: long addresses as RCN-225 prints them", "[model]") {
  CHECK(long_address_cvs(1000) == std::pair(0b11000011, 0b11101000));
  CHECK(long_address_cvs(1234) == std::pair(196, 210));
  CHECK(long_address_cvs(9999) == std::pair(231, 15));
  CHECK(long_address_cvs(10239) == std::pair(231, 255));
  CHECK_FALSE(long_address_cvs(0));
  CHECK_FALSE(long_address_cvs(10240));
  for (int address = least_long_address; address <= greatest_long_address; ++address) {
    const auto cvs = long_address_cvs(address);
    REQUIRE(cvs);
    REQUIRE(long_address(cvs->first, cvs->second) == address);
  }
  CHECK_FALSE(long_address(191, 0));
  CHECK_FALSE(long_address(232, 0));
  CHECK_FALSE(long_address(192, 0));
  CHECK_FALSE(long_address(192, 256));
}

TEST_CASE("cv values: the speed table is CV67 to CV94, linear to full drive", "[model]") {
  Project project;
  project.cvs.push_back({Id<Cv>(1), 67, 9, {}, {}, {}, {}});
  project.cvs.push_back({Id<Cv>(2), 94, 255, {}, {}, {}, {}});
  project.cvs.push_back({Id<Cv>(3), 95, 7, {}, {}, {}, {}});
  const SpeedTable table = speed_table(project);
  CHECK(table.front() == 9);
  CHECK(table.back() == 255);
  CHECK_FALSE(table[1]);
  CHECK(cv_value(project, 95) == 7);
  CHECK_FALSE(cv_value(project, 96));
  CHECK(linear_drive(1) == 9);
  CHECK(linear_drive(7) == 64);
  CHECK(linear_drive(14) == 128);
  CHECK(linear_drive(28) == 255);
}
