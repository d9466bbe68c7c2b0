// SPDX-License-Identifier: GPL-3.0-or-later
#include "table_layout.h"

#include "support/catch.h"

#include <numeric>

using namespace fourbeat::print;

namespace {

/// Ten a character.
double tens(std::string_view text) {
  double width = 0.0;
  for (const char c : text)
    width += (static_cast<unsigned char>(c) & 0xC0U) == 0x80U ? 0.0 : 10.0;
  return width;
}

using Lines = std::vector<std::string>;

double sum(const std::vector<double>& values) {
  return std::accumulate(values.begin(), values.end(), 0.0);
}

}  // namespace

TEST_CASE("table layout: names break behind their joints before they break anywhere", "[print]") {
  CHECK(wrapped("shunting_whistle_two-release.wav", tens, 170.0) ==
        Lines{"shunting_whistle_", "two-release.wav"});
  CHECK(least_width("shunting_whistle_two-release.wav", tens) == 90.0);
  // Without a joint it is broken where it must be, and nothing is lost.
  CHECK(wrapped("mmmmmmmmmm", tens, 45.0) == Lines{"mmmm", "mmmm", "mm"});
  CHECK(wrapped("a mmmmmmmm b", tens, 50.0) == Lines{"a", "mmmmm", "mmm b"});
  // Words part at spaces, which take no room at a line's end.
  CHECK(wrapped("one two", tens, 35.0) == Lines{"one", "two"});
  CHECK(wrapped("one two", tens, 70.0) == Lines{"one two"});
  CHECK(wrapped("until 2035-12-31, 16.5", tens, 100.0) == Lines{"until", "2035-12-31", ", 16.5"});
  CHECK(least_width("2035-12-31", tens) == 100.0);
  CHECK(wrapped("", tens, 70.0) == Lines{""});
  // Never inside a character, however narrow.
  CHECK(wrapped("äöü", tens, 0.0) == Lines{"ä", "ö", "ü"});
}

TEST_CASE("table layout: columns take what they want, or share what there is", "[print]") {
  CHECK(column_widths({10, 10}, {30, 40}, 100, Sharing::evenly, false) ==
        std::vector<double>{30, 40});
  CHECK(sum(column_widths({10, 10}, {30, 40}, 100, Sharing::evenly, true)) == Approx(100));
  const auto shared = column_widths({20, 10}, {20, 200}, 100, Sharing::evenly, false);
  CHECK(shared[0] == Approx(20));
  CHECK(sum(shared) == Approx(100));
  const auto modest = column_widths({10, 10, 10}, {300, 15, 200}, 100, Sharing::evenly, false);
  CHECK(modest[1] == Approx(15));
  CHECK(modest[0] == Approx(42.5));
  CHECK(modest[2] == Approx(42.5));
  const auto by_want = column_widths({10, 10}, {30, 170}, 100, Sharing::by_its_want, false);
  CHECK(by_want[0] == Approx(10 + 80.0 * 20 / 180));
  CHECK(sum(by_want) == Approx(100));
  const auto squeezed = column_widths({100, 300}, {100, 300}, 100, Sharing::evenly, false);
  CHECK(squeezed[0] == Approx(25));
  CHECK(squeezed[1] == Approx(75));
}
