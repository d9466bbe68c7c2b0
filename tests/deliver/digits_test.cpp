// SPDX-License-Identifier: GPL-3.0-or-later
#include "digits.h"

#include "support/catch.h"

#include <limits>

using namespace fourbeat::deliver;

TEST_CASE("digits: numbers have the decimals asked for, and no minus before nothing", "[deliver]") {
  CHECK(fixed(12.345, 1) == "12.3");
  CHECK(fixed(0.25, 1) == "0.3");
  CHECK(fixed(-0.25, 1) == "-0.3");
  CHECK(fixed(-0.01, 1) == "0.0");
  CHECK(fixed(1234567.0, 0) == "1234567");
  CHECK(up_to(12.50, 2) == "12.5");
  CHECK(up_to(12.0, 2) == "12");
  CHECK(up_to(100.0, 0) == "100");
  CHECK(rounded(-1.254, 2) == -1.25);
}

TEST_CASE("digits: what is not finite leaves no trace", "[deliver]") {
  const double infinity = std::numeric_limits<double>::infinity();
  const double no_number = std::numeric_limits<double>::quiet_NaN();
  CHECK(fixed(infinity, 2).empty());
  CHECK(up_to(no_number, 2).empty());
  CHECK(rounded(-infinity, 2) == 0.0);
  CHECK(rounded(1e308, 4) == 1e308);
}
