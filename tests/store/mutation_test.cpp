// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/sample_project.h"

#include "fourbeat/base/random.h"
#include "fourbeat/model/validate.h"
#include "fourbeat/store/data_files.h"
#include "fourbeat/store/project_file.h"

using namespace fourbeat;
using namespace fourbeat::store;

namespace {

/// A text with a few bytes changed, cut out, doubled or put in.
std::string mutated(std::string text, Random& random) {
  const std::string_view bytes = "0123456789-+.eE\"{}[]:,\\ntfu \xff\x01\xc3";
  for (std::int64_t change = 1 + random.below(3); change > 0 && !text.empty(); --change) {
    const auto at = static_cast<std::size_t>(random.below(static_cast<std::int64_t>(text.size())));
    const auto byte =
        static_cast<std::size_t>(random.below(static_cast<std::int64_t>(bytes.size())));
    const auto length = static_cast<std::size_t>(1 + random.below(40));
    switch (random.below(5)) {
      case 0:
        text[at] = bytes[byte];
        break;
      case 1:
        text.erase(at, length);
        break;
      case 2:
        text.insert(at, text.substr(at, length));
        break;
      case 3:
        text.insert(at, 1, bytes[byte]);
        break;
      default:
        text.resize(at);
    }
  }
  return text;
}

}  // namespace

TEST_CASE("mutations: a damaged project is refused by place, or holds and is written back",
          "[store]") {
  const std::string text = project_text(tests::sample_project());
  int read = 0;
  int refused = 0;
  for (std::uint64_t seed = 1; seed <= 600; ++seed) {
    Random random(seed);
    const std::string damaged = mutated(text, random);
    const Result<model::Project> project = parse_project(damaged, "p");
    INFO("seed " << seed);
    if (!project) {
      ++refused;
      REQUIRE(project.error().file == "p");
      const bool placed = !project.error().place.empty() || !project.error().detail.empty();
      REQUIRE(placed);
      continue;
    }
    ++read;
    REQUIRE(model::validate(*project));
    const std::string written = project_text(*project);
    const Result<model::Project> again = parse_project(written, "p");
    REQUIRE(again);
    REQUIRE(*again == *project);
    REQUIRE(project_text(*again) == written);
  }
  CHECK(read > 20);
  CHECK(refused > 300);
}

TEST_CASE("mutations: damaged edits and run cards are read or refused, nothing else", "[store]") {
  const std::string edits = R"([{"edit": "set_cv", "number": 3, "value": 12},
    {"edit": "group", "edits": [{"edit": "remove_key", "id": 3}]},
    {"edit": "add_mark", "value": {"take": 1, "range": {"start_frame": 1, "end_frame": 2}}}])";
  const std::string card = R"({"format": "fourbeat-runcard", "version": 1, "seconds": 60,
    "moves": [{"time_s": 1, "key": 2, "on": true}, {"time_s": 2, "cv": 3, "value": 4}]})";
  int refused = 0;
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    Random random(seed);
    if (!parse_edits(mutated(edits, random), "e")) ++refused;
    if (!parse_run_card(mutated(card, random), "c")) ++refused;
  }
  CHECK(refused > 300);
  CHECK(refused < 600);
}
