// SPDX-License-Identifier: GPL-3.0-or-later
#include "csv.h"

#include "support/catch.h"

using namespace fourbeat;
using namespace fourbeat::deliver;

TEST_CASE("csv: cells are quoted as RFC 4180 says, lines end in CRLF", "[deliver]") {
  // RFC 4180 section 2, rules 1, 6 and 7.
  CHECK(csv_text({{"aaa", "b\r\nbb", "ccc"}, {"zzz", "yyy", "x,x"}, {"b\"bb", "", ""}}) ==
        "aaa,\"b\r\nbb\",ccc\r\nzzz,yyy,\"x,x\"\r\n\"b\"\"bb\",,\r\n");
  CHECK(csv_text({}).empty());
}

TEST_CASE("csv: what is written reads back", "[deliver]") {
  const std::vector<CsvRow> rows{{"a", "", "c,d"}, {"\"", "e\nf", "\r\n"}, {"", "", ""}};
  const auto read = parse_csv(csv_text(rows));
  REQUIRE(read);
  CHECK(*read == rows);
  const auto unix_lines = parse_csv("a,b\nc,d");
  REQUIRE(unix_lines);
  CHECK(*unix_lines == std::vector<CsvRow>{{"a", "b"}, {"c", "d"}});
}

TEST_CASE("csv: a damaged table is refused with its line", "[deliver]") {
  for (const char* text : {"a\r\n\"b", "a\r\nb\"c\r\n", "a\r\n\"b\"c\r\n", "a\r\nb\rc\r\n"}) {
    const auto read = parse_csv(text);
    REQUIRE_FALSE(read);
    CHECK(read.error().code == ErrorCode::bad_input);
    CHECK(read.error().place == "line 2");
  }
}

TEST_CASE("csv: somebody's words never become a formula, and come back as they were", "[deliver]") {
  for (const char* words : {"=1+1", "+49", "-3 dB", "@SUM(A1)", "'tis"}) {
    CHECK(text_cell(words) == "'" + std::string(words));
    CHECK(words_of_cell(text_cell(words)) == words);
  }
  CHECK(text_cell("Whistle = long") == "Whistle = long");
  CHECK(text_cell("two\r\nlines\x01") == "two lines?");
  CHECK(text_cell("\xFF") == "?");
  CHECK(text_cell("").empty());
}

TEST_CASE("csv: blanks before a formula do not smuggle it in", "[deliver]") {
  CHECK(text_cell("\t=1+1") == "' =1+1");
  CHECK(text_cell(" =1+1") == "' =1+1");
}
