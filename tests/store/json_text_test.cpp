// SPDX-License-Identifier: GPL-3.0-or-later
#include "json_text.h"

#include "support/catch.h"

#include <fmt/format.h>

using namespace fourbeat;
using namespace fourbeat::store;

namespace {

std::string again(const std::string& text) {
  const Result<Json> json = parse_json(text, "t");
  REQUIRE(json);
  return pretty_text(*json);
}

}  // namespace

TEST_CASE("json text: a document breaks at its members, short values stay on one line", "[store]") {
  CHECK(again("[]") == "[]");
  CHECK(again("3") == "3");
  CHECK(again(R"({"a":{"b":[1,2,{}]},"l":[[1],2]})") ==
        "{\n  \"a\": {\"b\": [1, 2, {}]},\n  \"l\": [\n    [1],\n    2\n  ]\n}");
}

TEST_CASE("json text: a value takes 100 columns with its comma, and breaks beyond", "[store]") {
  const auto document = [](std::size_t length) {
    return fmt::format(R"({{"a": {{"k": "{}"}}, "b": 1}})", std::string(length, 'x'));
  };
  // Indent 2, "a": 5, {"k": "…"} 9 + n, comma 1.
  CHECK(again(document(83)).find("\n    \"k\"") == std::string::npos);
  CHECK(again(document(84)).find("\n    \"k\"") != std::string::npos);
}

TEST_CASE("json text: printed text is a fixed point, the order of members kept", "[store]") {
  const std::string text =
      again(R"({"z":1.0,"a":1e300,"m":-0.5,"i":-9223372036854775808,"u":18446744073709551615,)"
            R"("s":"\u00e9\n\"\\\u0001","n":null,"t":[true,false]})");
  CHECK(again(text) == text);
  CHECK(text.find("\"z\": 1.0,") < text.find("\"a\": 1e+300"));
  CHECK(text.find("é\\n\\\"\\\\\\u0001") != std::string::npos);
  CHECK(text.find("-9223372036854775808") != std::string::npos);
  CHECK(text.find("18446744073709551615") != std::string::npos);
}

TEST_CASE("json text: more values than the limit are refused", "[store]") {
  std::string text = "[0";
  for (std::int64_t i = 1; i < json_limit_values; ++i) {
    text += ",0";
  }
  text += "]";
  CHECK(parse_json(text, "t").error().code == ErrorCode::too_large);
}

TEST_CASE("json text: an object of many members is read in linear time", "[store]") {
  std::string text = "{";
  for (int i = 0; i < 200'000; ++i) {
    text += fmt::format("{}\"k{}\":0", i == 0 ? "" : ",", i);
  }
  const Result<Json> json = parse_json(text + "}", "t");
  REQUIRE(json);
  CHECK(json->size() == 200'000);
}
