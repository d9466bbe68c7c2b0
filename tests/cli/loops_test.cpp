// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/random.h"

#include <nlohmann/json.hpp>

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
