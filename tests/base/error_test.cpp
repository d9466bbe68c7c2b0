// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"

#include "fourbeat/base/result.h"
#include "fourbeat/base/sha256.h"

#include <set>

using namespace fourbeat;

TEST_CASE("error: every code has its own text and a mend", "[base]") {
  std::set<std::string_view> seen;
  for (int code = 0; code < error_code_count; ++code) {
    const ErrorText text = error_text(static_cast<ErrorCode>(code));
    CHECK_FALSE(text.what.empty());
    CHECK_FALSE(text.mend.empty());
    CHECK(seen.insert(text.what).second);
  }
}

TEST_CASE("error: one line names file, place, finding and mend, free of control characters",
          "[base]") {
  const Error error{ErrorCode::bad_input, "set.fourbeat", "/keys/3", "key\n\x1b[31m",
                    "take 0 to 68"};
  CHECK(to_line(error) ==
        "set.fourbeat: /keys/3: the content breaks the rules of its format (key??[31m); take 0 to "
        "68");
}

TEST_CASE("sha256: the digest of FIPS 180-4's one-block example", "[base]") {
  // Source: FIPS 180-2, appendix B.1 ("abc").
  CHECK(sha256_hex("abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
}
