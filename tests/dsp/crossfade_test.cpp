// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/crossfade.h"

#include "support/catch.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"

#include <limits>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::dsp;

namespace {

audio::Pcm mono(std::vector<float> samples) {
  return {48000.0, {std::move(samples)}};
}

std::vector<float> noise(std::size_t frames, std::uint64_t seed) {
  Random random(seed);
  std::vector<float> out(frames);
  for (float& x : out)
    x = static_cast<float>(0.1 * random.normal());
  return out;
}

std::vector<float> sine(std::size_t frames, double period_frames) {
  std::vector<float> out(frames);
  for (std::size_t i = 0; i < frames; ++i)
    out[i] = static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * static_cast<double>(i) / period_frames));
  return out;
}

double rms_db(audio::MonoView x) {
  double sum = 0.0;
  for (const float v : x)
    sum += static_cast<double>(v) * v;
  return db_of_power(sum / static_cast<double>(x.size())).value_or(-200.0);
}

LoopSpec loop_of(std::int64_t start, std::int64_t end, std::int64_t fade, bool at_start = false) {
  return {frame_range(start, end), FrameCount(fade), at_start, 0.0, {}};
}

}  // namespace

// Mid-point gains of two sides of equal power: a = b = 1 / sqrt(2 + 2 rho), from constant power
// a² + b² + 2 rho a b = 1; the rho = 0 row is the well-known equal-power fade, -3.01 dB.
TEST_CASE("crossfade: the gain in the middle follows the correlation", "[dsp]") {
  const std::vector<std::pair<double, double>> table = {
      {0.0, -3.0103}, {0.5, -4.7712}, {1.0, -6.0206}};
  for (const auto& [rho, gain_db] : table) {
    const FadeGains gains = fade_gains(0.5, rho);
    CHECK(gains.out == Approx(gains.in));
    CHECK(db_of_amplitude(gains.in).value() == Approx(gain_db).margin(1e-3));
  }
}

TEST_CASE("crossfade: the sum's power is flat from end to end, for every correlation", "[dsp]") {
  for (const double rho : {0.0, 0.1, 0.37, 0.8, 1.0}) {
    CHECK(fade_gains(0.0, rho).out == 1.0);
    CHECK(fade_gains(0.0, rho).in == 0.0);
    CHECK(fade_gains(1.0, rho).out == 0.0);
    CHECK(fade_gains(1.0, rho).in == 1.0);
    double last_in = -1.0;
    for (int i = 0; i <= 100; ++i) {
      const FadeGains g = fade_gains(i / 100.0, rho);
      CHECK(g.out * g.out + g.in * g.in + 2.0 * rho * g.out * g.in == Approx(1.0));
      CHECK(g.in > last_in);
      last_in = g.in;
    }
  }
  CHECK(fade_gains(0.5, -0.5).in == Approx(fade_gains(0.5, 0.0).in));
  CHECK(fade_gains(0.25, 1.0).in == Approx(0.25));
}

TEST_CASE("crossfade: correlation is 1 for the same, -1 for the inverse, 0 for silence", "[dsp]") {
  const std::vector<float> a = noise(4800, 1);
  std::vector<float> inverse = a;
  for (float& x : inverse)
    x *= -0.25F;
  const std::vector<float> silence(a.size(), 0.0F);
  CHECK(correlation(a, a) == Approx(1.0));
  CHECK(correlation(a, inverse) == Approx(-1.0));
  CHECK(correlation(a, silence) == 0.0);
  CHECK(correlation({}, {}) == 0.0);
  CHECK(std::abs(correlation(a, noise(4800, 2))) < 0.06);
  std::vector<float> broken = a;
  broken[7] = std::numeric_limits<float>::quiet_NaN();
  CHECK(correlation(a, broken) == 0.0);
}

TEST_CASE("crossfade: uncorrelated noise and a matched sine keep their level through the blend",
          "[dsp]") {
  SECTION("noise, where equal gain would dip by 3 dB") {
    audio::Pcm pcm = mono(noise(96000, 3));
    const double before = rms_db(pcm.channels[0]);
    REQUIRE(blend_loop(pcm, loop_of(30000, 80000, 24000)));
    CHECK(rms_db(audio::MonoView(pcm.channels[0]).subspan(64000, 8000)) ==
          Approx(before).margin(0.25));
  }
  SECTION("sine, where equal power would bulge by 3 dB") {
    audio::Pcm pcm = mono(sine(96000, 100.0));
    const double before = rms_db(pcm.channels[0]);
    REQUIRE(blend_loop(pcm, loop_of(30000, 80000, 24000)));
    CHECK(rms_db(audio::MonoView(pcm.channels[0]).subspan(64000, 8000)) ==
          Approx(before).margin(0.01));
  }
}

TEST_CASE("crossfade: only the blend changes, and the wrap lands on neighbouring frames", "[dsp]") {
  const std::vector<float> original = noise(10000, 16);
  for (const bool at_start : {false, true}) {
    audio::Pcm pcm = mono(original);
    const LoopSpec loop = loop_of(3000, 7000, 2000, at_start);
    REQUIRE(blend_loop(pcm, loop));
    const std::vector<float>& out = pcm.channels[0];
    const std::size_t first = at_start ? 3000 : 5000;
    for (std::size_t i = 0; i < out.size(); ++i) {
      if (i >= first && i < first + 2000) continue;
      REQUIRE(out[i] == original[i]);
    }
    // Next to the wrap the blend is all but the frame that was its neighbour in the material.
    const std::size_t rim = at_start ? 3000 : 6999;
    const std::size_t neighbour = at_start ? 7000 : 2999;
    CHECK(out[rim] == Approx(original[neighbour]).margin(0.002));
    CHECK(out[first + 1000] != original[first + 1000]);
  }
}

TEST_CASE("crossfade: all channels are blended by one law", "[dsp]") {
  std::vector<float> left = noise(10000, 5);
  const std::vector<float> right = sine(10000, 100.0);
  audio::Pcm both{48000.0, {left, right}};
  const LoopSpec loop = loop_of(3000, 7000, 500);
  const double rho = blend_correlation(both, loop);
  CHECK(rho == Approx(0.5).margin(0.06));
  REQUIRE(blend_loop(both, loop));
  const FadeGains g = fade_gains(250.0 / 501.0, rho);
  CHECK(both.channels[0][6749] == Approx(g.out * left[6749] + g.in * left[2749]).margin(1e-6));
  CHECK(both.channels[1][6749] == Approx(g.out * right[6749] + g.in * right[2749]).margin(1e-6));
}

TEST_CASE("crossfade: a drift of level is taken out, and nothing steps where the sound goes on",
          "[dsp]") {
  for (const bool at_start : {false, true}) {
    for (const double drift_db : {3.0, -6.0}) {
      // A constant whose level drifts over the loop as steadily as it does before and after it.
      std::vector<float> original(10000);
      for (std::size_t i = 0; i < original.size(); ++i) {
        original[i] = static_cast<float>(
            0.25 * std::pow(10.0, drift_db / 20.0 * (static_cast<double>(i) - 3000.0) / 4000.0));
      }
      audio::Pcm pcm = mono(original);
      LoopSpec loop = loop_of(3000, 7000, 500, at_start);
      loop.drift_db = drift_db;
      REQUIRE(blend_loop(pcm, loop));
      const std::vector<float>& out = pcm.channels[0];
      for (std::size_t i = 3000; i < 7000; ++i)
        REQUIRE(out[i] == Approx(0.25).margin(1e-6));
      // Beyond, the gain is held.
      const double step = std::pow(10.0, std::abs(drift_db) / 20.0 / 4000.0) - 1.0;
      for (std::size_t i = 1; i < out.size(); ++i)
        REQUIRE(std::abs(out[i] - out[i - 1]) <= 1.01 * step * out[i] + 1e-6);
      CHECK(out[9999] / original[9999] == Approx(out[8000] / original[8000]));
      CHECK(out[0] / original[0] == Approx(out[2000] / original[2000]));
    }
  }
}

TEST_CASE("crossfade: what cannot be blended is refused and left alone", "[dsp]") {
  const std::vector<float> original = noise(10000, 6);
  const auto refused = [&](const LoopSpec& loop, std::string_view part) {
    audio::Pcm pcm = mono(original);
    const Status status = blend_loop(pcm, loop);
    REQUIRE_FALSE(status);
    CHECK(status.error().code == ErrorCode::bad_argument);
    CHECK(status.error().detail.find(part) != std::string::npos);
    CHECK(pcm.channels[0] == original);
  };
  refused(loop_of(300, 7000, 500), "the material holds 300");
  refused(loop_of(3000, 9800, 500, true), "the material holds 200");
  refused(loop_of(3000, 3400, 500), "longer than the loop");
  refused(loop_of(3000, 10001, 500), "10000 frames");
  refused(loop_of(-1, 5000, 0), "does not lie");
  refused(loop_of(5000, 5000, 0), "does not lie");
  refused(loop_of(3000, 7000, -1), "negative");
  LoopSpec steep = loop_of(3000, 7000, 500);
  steep.drift_db = 12.5;
  refused(steep, "12.5 dB");

  audio::Pcm opposed = mono(sine(10000, 100.0));
  const Status status = blend_loop(opposed, loop_of(3000, 7050, 500));
  REQUIRE_FALSE(status);
  CHECK(status.error().detail.find("-1.00") != std::string::npos);
  CHECK(opposed.channels[0] == sine(10000, 100.0));

  audio::Pcm broken = mono(original);
  broken.channels[0][2600] = std::numeric_limits<float>::infinity();
  CHECK(blend_loop(broken, loop_of(3000, 7000, 500)).error().code == ErrorCode::not_finite);
}

TEST_CASE("crossfade: nothing, one frame, silence and a constant are blended as they are",
          "[dsp]") {
  audio::Pcm nothing;
  CHECK_FALSE(blend_loop(nothing, loop_of(0, 1, 0)));
  audio::Pcm one = mono({0.5F});
  CHECK(blend_loop(one, loop_of(0, 1, 0)));
  CHECK(one.channels[0][0] == 0.5F);
  for (const float level : {0.0F, 0.25F, 1.0F}) {
    audio::Pcm pcm = mono(std::vector<float>(1000, level));
    REQUIRE(blend_loop(pcm, loop_of(300, 700, 200)));
    for (const float x : pcm.channels[0])
      CHECK(x == Approx(level));
  }
}

TEST_CASE("crossfade: sides that cancel ever so little are refused, rounding is not", "[dsp]") {
  // The side before the start is a share of the side before the end, and noise of its own.
  const auto sides = [](double share) {
    std::vector<float> out = noise(60000, 8);
    const std::vector<float> own = noise(20000, 9);
    for (std::size_t i = 0; i < 20000; ++i)
      out[i] = static_cast<float>(share * out[i + 30000] + own[i]);
    return mono(out);
  };
  const LoopSpec loop = loop_of(20000, 50000, 20000);
  for (const double share : {-0.5, -0.1, -0.04}) {
    audio::Pcm pcm = sides(share);
    const double rho = blend_correlation(pcm, loop);
    REQUIRE(rho < -0.02);
    const Status refused = blend_loop(pcm, loop);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().detail.find("cancel") != std::string::npos);
    CHECK_FALSE(refused.error().mend.empty());
  }
  audio::Pcm alike = sides(0.04);
  CHECK(blend_loop(alike, loop));
  // Tones a quarter of a period apart share nothing; what is left is rounding, of either sign.
  int below = 0;
  for (std::int64_t start = 1000; start < 1100; ++start) {
    for (const std::int64_t quarter : {25, 75}) {
      audio::Pcm tone = mono(sine(10000, 100.0));
      const LoopSpec apart = loop_of(start, start + 3000 + quarter, 500);
      const double rho = blend_correlation(tone, apart);
      below += rho < 0.0 ? 1 : 0;
      CHECK(std::abs(rho) < 1.0e-7);
      CHECK(blend_loop(tone, apart));
    }
  }
  CHECK(below > 20);
}
