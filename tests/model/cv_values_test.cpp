// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/cv_values.h"

#include "support/catch.h"

#include <algorithm>

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

TEST_CASE("cv values: the makers' areas are those of S-9.2.2, table 1", "[model]") {
  const auto ends = [](int first, int last, CvArea area) {
    return cv_area(first) == area && cv_area(last) == area;
  };
  CHECK(ends(1, 46, CvArea::standard));
  CHECK(ends(47, 64, CvArea::makers));
  CHECK(ends(65, 111, CvArea::standard));
  CHECK(ends(112, 256, CvArea::makers));
  CHECK(ends(257, 512, CvArea::paged));
  CHECK(ends(513, 879, CvArea::makers));
  CHECK(ends(880, 1024, CvArea::standard));
  CHECK(ends(0, 1025, CvArea::none));
}

TEST_CASE("cv values: a free CV is one that no CV and no option of the set has", "[model]") {
  Project project;
  CHECK(free_own_cvs(project).size() == 18 + 145 + 367);
  CHECK(next_own_cv(project) == 112);
  project.cvs.push_back({Id<Cv>(1), 112, 0, {}, {}, {}, {}});
  project.options.push_back({Id<Option>(2), "Whistle", 113, {}, {}});
  CHECK(next_own_cv(project) == 114);
  const std::vector<int> numbers = free_own_cvs(project, 113);
  CHECK(numbers.size() == 18 + 145 + 367 - 1);
  CHECK(std::is_sorted(numbers.begin(), numbers.end()));
  CHECK(std::count(numbers.begin(), numbers.end(), 112) == 0);
  CHECK(std::count(numbers.begin(), numbers.end(), 113) == 1);
  CHECK(free_own_cvs(project, 3).front() == 3);  // one that is elsewhere stays on offer
  for (const int number : free_own_cvs(project))
    project.cvs.push_back({Id<Cv>(number), number, 0, {}, {}, {}, {}});
  CHECK_FALSE(next_own_cv(project));
  std::erase_if(project.cvs, [](const Cv& cv) { return cv.number == 50; });
  CHECK(next_own_cv(project) == 50);
}
