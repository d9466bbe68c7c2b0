// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "support/catch.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/random.h"

#include <nlohmann/json.hpp>

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <fstream>
#include <string>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

using Json = nlohmann::json;

/// Bursts of noise that come every 0.25 s.
void write_beating_take(const std::filesystem::path& file) {
  Random random(4);
  audio::Pcm pcm{16000.0, {std::vector<float>(192'000)}};
  for (std::size_t i = 8000; i < pcm.channels[0].size(); ++i) {
    const double into_s = std::fmod(static_cast<double>(i) / pcm.sample_rate_hz, 0.25);
    pcm.channels[0][i] =
        static_cast<float>((0.002 + 0.2 * std::exp(-into_s / 0.04)) * random.normal());
  }
  REQUIRE(audio::write_wav(file, pcm, audio::WavDepth::s24));
}

void make_edits(const TempFolder& folder, const Json& edits) {
  std::ofstream(folder / "edits.json") << edits.dump();
  const Ran ran = run(folder, "edit set.fourbeat --apply edits.json");
  INFO(ran.err);
  REQUIRE(ran.status == 0);
}

Json shown(const TempFolder& folder, const std::string& place) {
  const Ran ran = run(folder, "show set.fourbeat " + place);
  INFO(ran.err);
  REQUIRE(ran.status == 0);
  return Json::parse(ran.out);
}

float peak_of_sweep(const TempFolder& folder) {
  JobControl job;
  auto reader = audio::SoundFileReader::open(folder / "sweep.wav").value();
  const audio::Pcm pcm = reader.read({FrameIndex(0), FrameIndex(0) + reader.info().frames}).value();
  float peak = 0.0F;
  for (const float sample : pcm.channels.front())
    peak = std::max(peak, std::fabs(sample));
  return peak;
}

}  // namespace

TEST_CASE("command: chuffs keeps the figures of effort when asked, and a sweep is never cut off",
          "[cli]") {
  const TempFolder folder;
  write_beating_take(folder / "take.wav");
  REQUIRE(run(folder, "new set.fourbeat --title Set").status == 0);
  REQUIRE(run(folder, "take add set.fourbeat take.wav").status == 0);
  make_edits(
      folder,
      Json::array(
          {{{"edit", "set_engine"},
            {"engine",
             {{"driver_diameter_mm", 1500}, {"beats_per_rev", 4}, {"top_speed_kmh", 30}}}}}));
  const std::string build =
      "chuffs set.fourbeat --json --take " + shown(folder, "/takes/0/id").dump();
  const Ran once = run(folder, build);
  INFO(once.err);
  REQUIRE(once.status == 0);
  CHECK_FALSE(shown(folder, "/engine").contains("effort"));
  const Ran kept = run(folder, build + " --keep-effort");
  REQUIRE(kept.status == 0);
  const Json stored = shown(folder, "/engine").at("effort");
  const Json told = Json::parse(kept.out).at("effort");
  for (const auto& [key, value] : told.items())
    CHECK((stored.contains(key) ? stored[key] : Json(nullptr)) == value);
  CHECK(told.at("hard_from_m_s2") == 0.03);

  const Ran soft = run(folder, "sweep set.fourbeat --wav sweep.wav --up 5 --down 5");
  REQUIRE(soft.status == 0);
  CHECK(soft.err.empty());
  const float recorded = peak_of_sweep(folder);
  CHECK(recorded < 1.0F);

  // One row at a speed: beats come pi D / (n v) apart.
  const std::string row = shown(folder, "/chuffs/rows/0/id").dump();
  const Ran alone =
      run(folder, "sweep set.fourbeat --wav row.wav --seconds 4 --speed 18 --json --row " + row);
  INFO(alone.err);
  REQUIRE(alone.status == 0);
  const Json played = Json::parse(alone.out).at("beats");
  const double interval_s = 3.14159265358979 * 1.5 / (4 * 18 / 3.6);
  REQUIRE(static_cast<double>(played.size()) == Approx(4.0 / interval_s).margin(1.01));
  const double four_turns_s =
      (played.at(16).at("frame").get<double>() - played.at(0).at("frame").get<double>()) / 16000.0;
  CHECK(four_turns_s == Approx(16 * interval_s).margin(1.0 / 16000.0));
  CHECK(std::filesystem::exists(folder / "row.wav"));
  CHECK(run(folder, "sweep set.fourbeat --wav none.wav --row 9999").status == 2);
  CHECK(run(folder, "sweep set.fourbeat --wav none.wav --speed 20").status == 2);
  CHECK_FALSE(std::filesystem::exists(folder / "none.wav"));

  Json table = shown(folder, "/chuffs");
  table["gain_db"] = 20.0;
  make_edits(folder, Json::array({{{"edit", "set_chuff_table"}, {"table", table}}}));
  const Ran loud = run(folder, "sweep set.fourbeat --wav sweep.wav --up 5 --down 5 --json");
  REQUIRE(loud.status == 0);
  CHECK(loud.err.find("softer") != std::string::npos);
  CHECK(peak_of_sweep(folder) == Approx(0.891).margin(0.001));
  const Json json = Json::parse(loud.out);
  CHECK(json["peak"].get<double>() == Approx(10.0 * static_cast<double>(recorded)).epsilon(0.001));
  CHECK(json["turned_db"].get<double>() ==
        Approx(20.0 * std::log10(0.891 / json["peak"].get<double>())).margin(0.02));
}
