// SPDX-License-Identifier: GPL-3.0-or-later
#include "names.h"

#include "support/catch.h"

using namespace fourbeat::deliver;

TEST_CASE("names: a path inside a bundle stays inside it", "[deliver]") {
  for (const char* good : {"manifest.json", "sounds/a-b_1.wav", "a..b/c", "ü/x"})
    CHECK(fault_of_path(good).empty());
  for (const char* bad : {"", "/etc/passwd", "../x", "a/../../x", "a/..", "a//b", "a/", "./a",
                          "a\\b", "C:/x", "a\nb", "a\xFFz"})
    CHECK_FALSE(fault_of_path(bad).empty());
  CHECK_FALSE(fault_of_path(std::string(201, 'a')).empty());
}

TEST_CASE("names: sums read back as written, other lines are counted", "[deliver]") {
  const std::string digest(64, '0');
  const std::string text = sums_text({{digest, "a b"}, {digest, "c"}});
  CHECK(text == digest + "  a b\n" + digest + "  c\n");
  std::vector<int> bad_lines;
  const auto sums = parse_sums(text + "junk\n" + digest + " *d\n", bad_lines);
  REQUIRE(sums.size() == 2);
  CHECK(sums[0].path == "a b");
  CHECK(sums[1].sha256 == digest);
  CHECK(bad_lines == std::vector<int>{3, 4});
}
