// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/base/files.h"
#include "fourbeat/store/data_files.h"

#include <fmt/format.h>

using namespace fourbeat;
using namespace fourbeat::store;

namespace {

std::string card(const std::string& moves, const std::string& head = "\"seconds\": 60") {
  return fmt::format(R"({{"format": "fourbeat-runcard", "version": 1, {}, "moves": [{}]}})", head,
                     moves);
}

std::string place_of(const std::string& text) {
  const Result<model::RunCard> read = parse_run_card(text, "card.json");
  REQUIRE_FALSE(read);
  CHECK(read.error().file == "card.json");
  return read.error().place;
}

}  // namespace

TEST_CASE("run card: every kind of move is read, and moves are in the order of time", "[store]") {
  using namespace model;
  const Result<RunCard> read = parse_run_card(
      card(R"({"time_s": 9, "gradient_percent": -2.5},
              {"time_s": 1, "throttle_step": 28},
              {"time_s": 1, "key": 2, "on": true, "why": "unknown members are passed over"},
              {"time_s": 2, "direction": "reverse"}, {"time_s": 3, "direction": "forward"},
              {"time_s": 4.25, "cv": 3, "value": 255},
              {"time_s": 0, "load": 0.5})",
           R"("title": "Branch", "seed": 7, "seconds": 12.5, "speed_steps": 28, "extra": [])"),
      "card.json");
  REQUIRE(read);
  CHECK(*read == RunCard{"Branch",
                         7,
                         12.5,
                         28,
                         {{0, MoveLoad{0.5}},
                          {1, MoveThrottle{28}},
                          {1, MoveKey{2, true}},
                          {2, MoveDirection{false}},
                          {3, MoveDirection{true}},
                          {4.25, MoveCv{3, 255}},
                          {9, MoveGradient{-2.5}}}});
}

TEST_CASE("run card: what is not said takes its default", "[store]") {
  const Result<model::RunCard> read =
      parse_run_card(R"({"format": "fourbeat-runcard", "version": 1, "seconds": 5})", "c");
  REQUIRE(read);
  CHECK(read->speed_steps == 128);
  CHECK(read->seed == 1);
  CHECK(read->moves.empty());
}

TEST_CASE("run card: what is out of range or unclear is refused by place", "[store]") {
  CHECK(place_of(card("", "\"seconds\": 0")) == "/seconds");
  CHECK(place_of(card("", "\"seconds\": 14401")) == "/seconds");
  CHECK(place_of(card("", "\"title\": \"x\"")) == "/seconds");
  CHECK(place_of(card("", "\"seconds\": 1, \"speed_steps\": 27")) == "/speed_steps");
  CHECK(place_of(card("", "\"seconds\": 1, \"seed\": -1")) == "/seed");
  CHECK(place_of(card(R"({"throttle_step": 3})")) == "/moves/0/time_s");
  CHECK(place_of(card(R"({"time_s": -1, "throttle_step": 3})")) == "/moves/0/time_s");
  CHECK(place_of(card(R"({"time_s": 1})")) == "/moves/0");
  CHECK(place_of(card(R"({"time_s": 1, "load": 1, "key": 1, "on": true})")) == "/moves/0");
  CHECK(place_of(card(R"({"time_s": 1, "throttle_step": 127})")) == "/moves/0/throttle_step");
  CHECK(place_of(card(R"({"time_s": 1, "throttle_step": 29})",
                      "\"seconds\": 1, \"speed_steps\": 28")) == "/moves/0/throttle_step");
  CHECK(place_of(card(R"({"time_s": 1, "key": 69, "on": true})")) == "/moves/0/key");
  CHECK(place_of(card(R"({"time_s": 1, "key": 1})")) == "/moves/0/on");
  CHECK(place_of(card(R"({"time_s": 1, "key": 1, "on": 1})")) == "/moves/0/on");
  CHECK(place_of(card(R"({"time_s": 1, "direction": "back"})")) == "/moves/0/direction");
  CHECK(place_of(card(R"({"time_s": 1, "cv": 1025, "value": 1})")) == "/moves/0/cv");
  CHECK(place_of(card(R"({"time_s": 1, "cv": 1, "value": 256})")) == "/moves/0/value");
  CHECK(place_of(card(R"({"time_s": 1, "cv": 1})")) == "/moves/0/value");
  CHECK(place_of(card(R"({"time_s": 0, "load": 0}, {"time_s": 1, "load": 1.01})")) ==
        "/moves/1/load");
  CHECK(place_of(card(R"({"time_s": 1, "gradient_percent": "steep"})")) ==
        "/moves/0/gradient_percent");
  CHECK(place_of(card("7")) == "/moves/0");
  CHECK(place_of(R"({"format": "fourbeat-runcard", "version": 1, "seconds": 1, "moves": {}})") ==
        "/moves");
  CHECK(place_of(R"({"format": "fourbeat-project", "version": 1})") == "/format");
}

TEST_CASE("run card: a newer version, a missing file and a folder are refused", "[store]") {
  const fourbeat::tests::TempFolder folder;
  CHECK(parse_run_card(R"({"format": "fourbeat-runcard", "version": 2})", "c").error().code ==
        ErrorCode::newer_version);
  CHECK(load_run_card(folder / "none").error().code == ErrorCode::not_found);
  CHECK(load_run_card(folder.path()).error().code == ErrorCode::not_a_file);
  REQUIRE(write_file_atomically(folder / "c.json", card("")));
  CHECK(load_run_card(folder / "c.json")->seconds == 60);
}

TEST_CASE("run card: a written card reads back as it was, to the last bit", "[store]") {
  using namespace model;
  RunCard card;
  card.title = "By hand: \"up the bank\"";
  card.seed = 7;
  card.seconds = 12345.0 / 44100.0;
  card.speed_steps = 28;
  // Frames of a rate that divides nothing evenly.
  const auto at = [](int frame) { return static_cast<double>(frame) / 44100.0; };
  card.moves = {{at(0), MoveThrottle{28}},       {at(1), MoveKey{68, true}},
                {at(1), MoveKey{68, false}},     {at(4093), MoveDirection{false}},
                {at(4093), MoveDirection{true}}, {at(5003), MoveCv{1024, 255}},
                {at(6007), MoveLoad{0.1}},       {at(7001), MoveGradient{-1.7}},
                {at(8009), MoveStop{}},          {at(9001), MovePower{false}},
                {at(12001), MovePower{true}}};
  const Result<RunCard> read = parse_run_card(run_card_text(card), "card.json");
  REQUIRE(read);
  CHECK(*read == card);
  CHECK(run_card_text(*read) == run_card_text(card));
}
