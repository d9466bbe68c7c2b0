// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/base/text.h"

#include "support/catch.h"

using namespace fourbeat;

TEST_CASE("text: control characters and broken UTF-8 never reach a terminal", "[base]") {
  CHECK(printable("K\xc3\xbchl\x1b[0m\r\x7f\x80") == "K\xc3\xbchl?[0m???");
  CHECK(printable("\xc2\x9b"
                  "31m") == "?31m");  // C1 control sequence introducer
}

TEST_CASE("text: UTF-8 is accepted as RFC 3629 has it", "[base]") {
  CHECK(is_utf8("\xf0\x9f\x9a\x82"));
  CHECK_FALSE(is_utf8("\xc0\xaf"));          // overlong
  CHECK_FALSE(is_utf8("\xed\xa0\x80"));      // surrogate
  CHECK_FALSE(is_utf8("\xf4\x90\x80\x80"));  // beyond U+10FFFF
  CHECK_FALSE(is_utf8("\xe2\x82"));          // cut
}

TEST_CASE("text: numbers are read whole, finite, and without the locale", "[base]") {
  CHECK(parse_number("1.5") == 1.5);
  CHECK_FALSE(parse_number("1,5"));
  CHECK_FALSE(parse_number("1.5x"));
  CHECK_FALSE(parse_number("inf"));
  CHECK_FALSE(parse_number("nan"));
  CHECK_FALSE(parse_number(""));
}

TEST_CASE("text: names for a bundle are safe", "[base]") {
  CHECK(safe_name("Whistle, long!") == "whistle_long");
  CHECK(safe_name("../../etc") == "etc");
  CHECK(safe_name("") == "sound");
  CHECK(safe_name(std::string(200, 'a')).size() == 48);
}
