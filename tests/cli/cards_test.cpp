// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "support/catch.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"

#include <nlohmann/json.hpp>

#include <cmath>
#include <fstream>
#include <numbers>
#include <string>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

using Json = nlohmann::json;

/// A take of a sine, 1 s at half of full scale, that key 1 plays with a gain in dB; two cards: one
/// of rest, one that presses the key at 1 s.
void make_tone_set(const TempFolder& folder, double gain_db) {
  audio::Pcm pcm{22050.0, {std::vector<float>(22050)}};
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    pcm.channels[0][i] = static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * 200.0 * static_cast<double>(i) / 22050.0));
  }
  REQUIRE(audio::write_wav(folder / "tone.wav", pcm, audio::WavDepth::s24));
  REQUIRE(run(folder, "new set.fourbeat --title T").status == 0);
  REQUIRE(run(folder, "take add set.fourbeat tone.wav").status == 0);
  const auto shown = [&](const char* place) {
    return Json::parse(run(folder, std::string("show set.fourbeat ") + place).out);
  };
  const int id = shown("/next_id").get<int>();
  const Json mix = {{{"take", shown("/takes/0/id")}, {"channel", 1}}};
  const Json edits = {{{"edit", "set_decoder"}, {"decoder", "class-b"}},
                      {{"edit", "add_segment"},
                       {"value",
                        {{"id", id},
                         {"name", "Tone"},
                         {"source", {{"pass", shown("/passes/0/id")}, {"mix", mix}}},
                         {"range", {{"start_frame", 0}, {"end_frame", 22050}}}}}},
                      {{"edit", "add_sound"},
                       {"value",
                        {{"id", id + 1},
                         {"name", "Tone"},
                         {"kind", "one_shot"},
                         {"category", "whistle"},
                         {"segment", id},
                         {"gain_db", gain_db}}}},
                      {{"edit", "add_key"},
                       {"value",
                        {{"id", id + 2},
                         {"number", 1},
                         {"label", "Tone"},
                         {"mode", "momentary"},
                         {"sound", id + 1}}}},
                      {{"edit", "set_run_cards"}, {"paths", {"rest.json", "tone.json"}}}};
  std::ofstream(folder / "edits.json") << edits.dump();
  const Ran applied = run(folder, "edit set.fourbeat --apply edits.json");
  INFO(applied.err);
  REQUIRE(applied.status == 0);
  std::ofstream(folder / "rest.json")
      << R"({"format": "fourbeat-runcard", "version": 1, "seconds": 2})";
  std::ofstream(folder / "tone.json")
      << R"({"format": "fourbeat-runcard", "version": 1, "seconds": 3,
             "moves": [{"time_s": 1, "key": 1, "on": true}]})";
}

}  // namespace

TEST_CASE("check and fit: what each listed card asks of the set, and a mix over full scale",
          "[cli]") {
  const TempFolder folder;
  make_tone_set(folder, 8.0);  // -6.02 dB and 8 dB: over by 1.98 dB
  const Ran checked = run(folder, "check set.fourbeat --json");
  INFO(checked.err);
  const Json told = Json::parse(checked.out);
  const Json& cards = told.at("cards");
  REQUIRE(cards.size() == 2);
  CHECK(cards[0].at("card") == "rest.json");
  CHECK(cards[0].at("true_peak_dbtp").is_null());
  CHECK(cards[0].at("true_peak_s").is_null());
  CHECK(cards[0].at("voices_peak") == 0);
  CHECK(cards[1].at("card") == "tone.json");
  CHECK(cards[1].at("true_peak_dbtp").get<double>() == Approx(1.98).margin(0.05));
  CHECK(cards[1].at("true_peak_s").get<double>() == Approx(1.5).margin(0.5));
  CHECK(cards[1].at("voices_peak") == 1);
  CHECK(cards[1].at("voices_wanted_peak") == 1);
  std::vector<std::string> over;
  for (const Json& snag : told.at("snags")) {
    if (snag.at("rule") == "no_head_room") over.push_back(snag.at("where").at("pointer"));
  }
  CHECK(over == std::vector<std::string>{"/run_cards/1"});

  const Ran fitted = run(folder, "fit set.fourbeat --json");
  INFO(fitted.err);
  CHECK(Json::parse(fitted.out).at("cards") == cards);
}

TEST_CASE("cards: made for the set, written and listed once, never over another card", "[cli]") {
  const TempFolder folder;
  REQUIRE(run(folder, "new set.fourbeat --title T").status == 0);
  const auto listed = [&] {
    const Ran shown = run(folder, "show set.fourbeat /run_cards");
    REQUIRE(shown.status == 0);
    return Json::parse(shown.out);
  };
  const Ran told = run(folder, "cards set.fourbeat --json");
  REQUIRE(told.status == 0);
  const Json cards = Json::parse(told.out).at("cards");
  REQUIRE(cards.size() == 3);  // a set without keys
  CHECK(cards[0].at("path") == "cards/standard-start_run_stop.json");
  CHECK(cards[0].at("seconds").get<double>() > 20.0);
  CHECK(listed().empty());
  CHECK_FALSE(std::filesystem::exists(folder / "cards"));

  REQUIRE(run(folder, "cards set.fourbeat --write").status == 0);
  CHECK(listed().size() == 3);
  const Ran again = run(folder, "cards set.fourbeat --write");
  CHECK(again.status == 0);
  CHECK(listed().size() == 3);

  const std::string mine = R"({"format": "fourbeat-runcard", "version": 1, "seconds": 5})";
  std::ofstream(folder / "cards" / "standard-shunting.json") << mine;
  const Ran refused = run(folder, "cards set.fourbeat --write");
  CHECK(refused.status == 2);
  CHECK(refused.err.find("standard-shunting.json") != std::string::npos);
  CHECK(*read_text_file(folder / "cards" / "standard-shunting.json", 1000) == mine);
  REQUIRE(run(folder, "cards set.fourbeat --replace").status == 0);
  CHECK(*read_text_file(folder / "cards" / "standard-shunting.json", 100'000) != mine);
}
