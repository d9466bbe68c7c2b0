// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "support/catch.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/random.h"

#include <nlohmann/json.hpp>

#include <cmath>
#include <cstddef>
#include <set>
#include <string>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

using Json = nlohmann::json;
constexpr double interval_s = 0.25;

/// Noise alone in channel 1; in channel 2 bursts of noise, every 0.25 s from 0.5 s on.
void write_take(const std::filesystem::path& file) {
  Random random(4);
  constexpr std::size_t frames = 192'000;  // 12 s
  audio::Pcm pcm{16000.0, {std::vector<float>(frames), std::vector<float>(frames)}};
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    const double into_s =
        std::fmod(static_cast<double>(i) / pcm.sample_rate_hz + interval_s / 2, interval_s) -
        interval_s / 2;
    const double burst = into_s >= 0.0 && i >= 8000 ? std::exp(-into_s / 0.04) : 0.0;
    pcm.channels[0][i] = static_cast<float>(0.05 * random.normal());
    pcm.channels[1][i] = static_cast<float>((0.002 + 0.2 * burst) * random.normal());
  }
  REQUIRE(audio::write_wav(file, pcm, audio::WavDepth::s24));
}

std::set<std::string> keys_of(const Json& object) {
  std::set<std::string> keys;
  for (const auto& [key, value] : object.items())
    keys.insert(key);
  return keys;
}

}  // namespace

TEST_CASE("command: beats --json says what it heard, in which channel, with every key", "[cli]") {
  const TempFolder folder;
  write_take(folder / "take.wav");
  const Ran ran = run(folder, "beats take.wav --driver-mm 1500 --beats-per-rev 4 --json");
  INFO(ran.err);
  REQUIRE(ran.status == 0);
  const Json json = Json::parse(ran.out);
  CHECK(keys_of(json) == std::set<std::string>{"file", "sample_rate_hz", "channel", "beats",
                                               "stretches", "speed_curve", "measured_angles_deg",
                                               "pass_by", "chuff_source"});
  CHECK(json["channel"] == 2);
  REQUIRE(json["beats"].size() >= 45);
  CHECK(keys_of(json["beats"][20]) ==
        std::set<std::string>{"time_s", "frame", "strength", "confidence", "tilt_db", "position",
                              "speed_kmh", "speed_sd_kmh", "acceleration_m_s2", "effort",
                              "over_background_db", "length_share"});
  for (const Json& beat : json["beats"]) {
    const double time_s = beat["time_s"];
    CHECK(time_s == Approx(interval_s * std::round(time_s / interval_s)).margin(0.005));
  }
  REQUIRE(json["stretches"].size() == 1);
  CHECK(keys_of(json["stretches"][0]) ==
        std::set<std::string>{"from_s", "to_s", "median_interval_s", "fused"});
  CHECK_FALSE(json["stretches"][0]["fused"].get<bool>());
  CHECK(json["stretches"][0]["median_interval_s"].get<double>() ==
        Approx(interval_s).margin(0.002));
  REQUIRE_FALSE(json["speed_curve"].empty());
  const Json& point = json["speed_curve"][json["speed_curve"].size() / 2];
  CHECK(keys_of(point) == std::set<std::string>{"time_s", "turns_per_s", "turns_per_s_sd",
                                                "speed_kmh", "speed_sd_kmh", "speed_mph",
                                                "speed_at_scale_mm_s", "acceleration_m_s2",
                                                "acceleration_sd_m_s2"});
  // One turn a second of 1.5 m drivers: pi times 1.5 m/s.
  CHECK(point["speed_kmh"].get<double>() == Approx(16.965).margin(0.2));
  CHECK(point["speed_mph"].get<double>() == Approx(16.965 / 1.609344).margin(0.15));
  CHECK(point["speed_at_scale_mm_s"].is_null());
  CHECK(json["pass_by"].is_null());
  CHECK(json["chuff_source"] == true);
  const std::string h0 = "beats take.wav --driver-mm 1500 --beats-per-rev 4 --scale 87";
  const Json scaled = Json::parse(run(folder, h0 + " --json").out);
  // pi times 1.5 m over 87 (H0, NEM 010): 54.17 mm.
  CHECK(scaled["speed_curve"][20]["speed_at_scale_mm_s"].get<double>() ==
        Approx(54.17).margin(0.6));
  CHECK(run(folder, h0).out.find("; at 1:87 5") != std::string::npos);
  CHECK(run(folder, "beats take.wav --scale 0.5").status == 2);
}

TEST_CASE("command: beats hears the channel that is named, or all of them", "[cli]") {
  const TempFolder folder;
  write_take(folder / "take.wav");
  const auto heard = [&](const std::string& option) {
    const Ran ran = run(folder, "beats take.wav --json" + option);
    INFO(ran.err);
    REQUIRE(ran.status == 0);
    return Json::parse(ran.out);
  };
  CHECK(heard(" --channel 1")["channel"] == 1);
  CHECK(heard(" --channel 1")["beats"].empty());
  CHECK(heard(" --channel mix")["channel"] == "mix");
  CHECK(heard("")["channel"] == 2);
  const Ran text = run(folder, "beats take.wav");
  CHECK(text.out.find("take.wav, channel 2: ") != std::string::npos);
}
