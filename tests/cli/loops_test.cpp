// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/random.h"

#include <nlohmann/json.hpp>

#include <array>
#include <cmath>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

constexpr double rate_hz = 8000.0;

/// 9 s of noise.
void write_hiss(const TempFolder& folder) {
  Random random(8);
  audio::Pcm pcm{rate_hz, {std::vector<float>(72'000)}};
  for (float& sample : pcm.channels[0])
    sample = static_cast<float>(random.uniform(-0.2, 0.2));
  REQUIRE(write_file_atomically(folder / "hiss.wav", *audio::wav_bytes(pcm, audio::WavDepth::s16)));
}

/// 8 s of noise whose treble falls by 2 dB a second.
void write_dulling(const TempFolder& folder) {
  Random random(9);
  audio::Pcm pcm{rate_hz, {std::vector<float>(64'000)}};
  std::array<double, 2> low{};
  std::array<double, 2> before{};
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i) {
    low[0] += 0.2 * (random.uniform(-0.6, 0.6) - low[0]);
    low[1] += 0.2 * (low[0] - low[1]);
    const double x = random.uniform(-0.1, 0.1);
    const double high = x - 2.0 * before[0] + before[1];  // rises by 12 dB an octave
    before = {x, before[0]};
    const double treble = std::pow(10.0, -2.0 * static_cast<double>(i) / rate_hz / 20.0);
    pcm.channels[0][i] = static_cast<float>(low[1] + treble * high);
  }
  REQUIRE(write_file_atomically(folder / "dull.wav", *audio::wav_bytes(pcm, audio::WavDepth::s24)));
}

/// Lengths in seconds of the loops the command lists, shortest first.
std::vector<double> lengths_s(const TempFolder& folder, const std::string& options) {
  const Ran ran = run(folder, "loops hiss.wav --count 12 --json " + options);
  INFO(ran.err);
  REQUIRE(ran.status == 0);
  std::vector<double> lengths;
  const nlohmann::json json = nlohmann::json::parse(ran.out);
  for (const auto& loop : json.at("loops")) {
    const auto frames = loop.at("end_frame").get<double>() - loop.at("start_frame").get<double>();
    lengths.push_back(frames / rate_hz);
  }
  REQUIRE_FALSE(lengths.empty());
  std::sort(lengths.begin(), lengths.end());
  return lengths;
}

}  // namespace

TEST_CASE("command: loops are as long as their kind needs, or as asked for", "[cli]") {
  const TempFolder folder;
  write_hiss(folder);
  CHECK(lengths_s(folder, "").front() < 3.0);
  CHECK(lengths_s(folder, "--kind pump").front() >= 3.0);
  CHECK(lengths_s(folder, "--kind pump --min 0.5 --max 2").back() <= 2.0);
  const Ran ran = run(folder, "loops hiss.wav --kind kettle");
  CHECK(ran.status == 2);
  CHECK(ran.err.find("--kind") != std::string::npos);
  CHECK(ran.err.find("kettle") != std::string::npos);
  CHECK(ran.err.find("safety_valve") != std::string::npos);
}

TEST_CASE("command: a drift of tone is taken out of a loop and told", "[cli]") {
  const TempFolder folder;
  write_dulling(folder);
  const Ran ran = run(folder, "loops dull.wav --min 3 --count 1 --write loop.wav --json");
  INFO(ran.err);
  REQUIRE(ran.status == 0);
  const nlohmann::json json = nlohmann::json::parse(ran.out);
  const nlohmann::json& best = json.at("loops").at(0);
  CHECK(best.at("seam").at("state") == "clean");
  CHECK(best.at("tone_drift_db").get<double>() < -1.0);
  CHECK(best.at("octave_drift_db").size() == 4);  // to 3.6 kHz
  CHECK(best.at("seam").at("tone_drift_db") == 0.0);
  CHECK(best.at("seam").at("octave_drift_db") == 0.0);
  // What was written is told no drift of.
  const Ran again = run(folder, "loops loop.wav --min 2.5 --count 1 --json");
  REQUIRE(again.status == 0);
  const nlohmann::json written = nlohmann::json::parse(again.out).at("loops").at(0);
  CHECK(written.at("octave_drift_db").empty());
  CHECK(written.at("seam").at("tone_drift_db") == 0.0);
  const Ran text = run(folder, "loops dull.wav --min 3 --count 1");
  CHECK(text.out.find("drift of tone of -") != std::string::npos);
}
