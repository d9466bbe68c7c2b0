// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/resample.h"

#include "audio_files.h"

#include <cstdlib>
#include <string>

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

std::vector<float> resampled(const std::vector<float>& samples, double from_hz, double to_hz) {
  auto result = resample(samples, from_hz, to_hz);
  REQUIRE(result);
  CHECK(result->size() == static_cast<std::size_t>(
                              std::llround(static_cast<double>(samples.size()) * to_hz / from_hz)));
  return *std::move(result);
}

double peak_between(const std::vector<float>& samples, double from_share, double to_share) {
  const auto size = static_cast<double>(samples.size());
  double peak = 0.0;
  for (auto n = static_cast<std::size_t>(from_share * size);
       n < static_cast<std::size_t>(to_share * size); ++n)
    peak = std::max(peak, std::abs(double{samples[n]}));
  return peak;
}

}  // namespace

TEST_CASE("a sine stays the same sine at the new rate, sample 0 at the same time") {
  const auto [from_hz, to_hz] = GENERATE(std::pair{48000.0, 22050.0}, std::pair{44100.0, 48000.0},
                                         std::pair{192000.0, 31250.0}, std::pair{22050.0, 96000.0},
                                         std::pair{48000.0, 47998.7}, std::pair{48000.0, 48000.0});
  const double hz = 1000.0;
  const std::vector<float> out =
      resampled(sine(hz, from_hz, static_cast<std::size_t>(from_hz), 0.5, 0.3), from_hz, to_hz);
  const std::vector<float> expected = sine(hz, to_hz, out.size(), 0.5, 0.3);
  double worst = 0.0;
  for (std::size_t n = out.size() / 10; n < out.size() * 9 / 10; ++n)
    worst = std::max(worst, std::abs(double{out[n]} - double{expected[n]}));
  INFO(from_hz << " to " << to_hz);
  CHECK(worst < 2e-6);
}

TEST_CASE("what lies over half the new rate is gone, what lies well under it stays") {
  // VHQ of libsoxr: passband flat, stopband below -170 dB; float rounding sets the floor here.
  const std::vector<float> high = resampled(sine(13000.0, 48000.0, 48000), 48000.0, 22050.0);
  CHECK(peak_between(high, 0.1, 0.9) < 0.5e-6);
  const std::vector<float> low = resampled(sine(10000.0, 48000.0, 48000), 48000.0, 22050.0);
  CHECK(peak_between(low, 0.1, 0.9) == Approx(0.5).epsilon(0.001));
}

TEST_CASE("silence stays silence and a steady level stays that level") {
  const std::vector<float> silent = resampled(std::vector<float>(5000, 0.0F), 48000.0, 22050.0);
  CHECK(peak_between(silent, 0.0, 1.0) == 0.0);
  const std::vector<float> steady = resampled(std::vector<float>(48000, 1.0F), 48000.0, 22050.0);
  for (std::size_t n = steady.size() / 10; n < steady.size() * 9 / 10; ++n)
    REQUIRE(steady[n] == Approx(1.0).epsilon(1e-6));
}

TEST_CASE("nothing stays nothing and one sample gives its rounded count") {
  CHECK(resampled({}, 48000.0, 22050.0).empty());
  CHECK(resampled({1.0F}, 48000.0, 22050.0).empty());
  CHECK(resampled({1.0F}, 22050.0, 48000.0).size() == 2);
  CHECK(resampled({1.0F}, 48000.0, 48000.0) == std::vector<float>{1.0F});
}

TEST_CASE("one input gives the same bits every time") {
  const std::vector<float> samples = exact_samples(16, 30000);
  CHECK(resampled(samples, 48000.0, 22050.0) == resampled(samples, 48000.0, 22050.0));
}

TEST_CASE("a rate outside 1 Hz to 1 MHz is refused") {
  const std::vector<float> samples(100, 0.0F);
  for (const double rate_hz : {0.0, -48000.0, 0.5, 1.1e6, std::nan(""), HUGE_VAL}) {
    for (const auto& result :
         {resample(samples, rate_hz, 48000.0), resample(samples, 48000.0, rate_hz)}) {
      REQUIRE(!result);
      CHECK(result.error().code == ErrorCode::bad_argument);
    }
  }
}

TEST_CASE("both engines of libsoxr give the same 16-bit and 24-bit numbers") {
  std::vector<float> samples = exact_samples(24, 200000);
  std::fill(samples.begin() + 90000, samples.begin() + 110000, 0.0F);
  for (const double to_hz : {22050.0, 16000.0, 47999.376}) {
    const std::vector<float> chosen = resampled(samples, 48000.0, to_hz);
    const char* was = std::getenv("SOXR_USE_SIMD");
    const std::string kept = was == nullptr ? "" : was;
    REQUIRE(::setenv("SOXR_USE_SIMD", "0", 1) == 0);
    const std::vector<float> plain = resampled(samples, 48000.0, to_hz);
    REQUIRE((was == nullptr ? ::unsetenv("SOXR_USE_SIMD")
                            : ::setenv("SOXR_USE_SIMD", kept.c_str(), 1)) == 0);
    REQUIRE(chosen.size() == plain.size());
    for (const double scale : {32768.0, 8388608.0}) {
      bool same = true;
      for (std::size_t n = 0; n < chosen.size(); ++n)
        same = same && std::round(chosen[n] * scale) == std::round(plain[n] * scale);
      CHECK(same);
    }
  }
}

TEST_CASE("a sample that is no number is refused with its frame") {
  std::vector<float> samples(100, 0.0F);
  samples[17] = std::nanf("");
  const auto result = resample(samples, 48000.0, 22050.0);
  REQUIRE(!result);
  CHECK(result.error().code == ErrorCode::not_finite);
  CHECK(result.error().place == "frame 17");
}
