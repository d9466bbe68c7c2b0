// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/fit/encode.h"

#include "fit_sounds.h"

#include "fourbeat/base/decibels.h"

#include <limits>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

constexpr std::uint64_t seed = 7;

double step_of(int bits) {
  return std::ldexp(1.0, 1 - bits);
}

/// Signal to error, in dB, over all samples: the error against `source` at the stored level.
double signal_to_error_db(const audio::Clip& source, const fit::EncodedClip& encoded) {
  const double gain = gain_of_db(-encoded.playback_gain_db);
  double signal = 0.0;
  double error = 0.0;
  for (std::size_t i = 0; i < source.samples.size(); ++i) {
    const double wanted = gain * static_cast<double>(source.samples[i]);
    const double off = static_cast<double>(encoded.clip.samples[i]) - wanted;
    signal += wanted * wanted;
    error += off * off;
  }
  return 10.0 * std::log10(signal / error);
}

/// Largest difference, in steps, between a stored loop and a sine of `turns` periods in it whose
/// phase at stored frame 0 is 0; frames before `from` are left out.
double off_sine_steps(const fit::EncodedClip& encoded, double turns, std::int64_t from) {
  const auto length = static_cast<double>(encoded.clip.loop->length().value());
  const double gain = gain_of_db(encoded.playback_gain_db);
  double worst = 0.0;
  for (auto i = from; i < encoded.clip.loop->end.value(); ++i) {
    const double wanted =
        std::sin(2.0 * std::numbers::pi * turns * static_cast<double>(i) / length);
    const double heard =
        gain * static_cast<double>(encoded.clip.samples[static_cast<std::size_t>(i)]);
    worst = std::max(worst, std::abs(heard - wanted));
  }
  return worst / (gain * step_of(encoded.clip.bits));
}

}  // namespace

TEST_CASE("encode: a full-scale sine has 6.02 N + 1.76 dB less what dither costs", "[fit]") {
  // Ideal quantiser: 6.02 N + 1.76 dB (textbook). TPDF dither of 2 LSB peak to peak: error power
  // step²/4 instead of step²/12, 4.77 dB (Lipshitz, Wannamaker and Vanderkooy, JAES 40, 1992).
  const audio::Clip source = sine(997.0, 44'100.0, 88'200, 1.0);
  for (const int bits : {8, 12, 16}) {
    const auto profile = open_decoder({44'100}, {8, 12, 16});
    const auto encoded = fit::encode(source, {44'100, bits}, profile, seed);
    REQUIRE(encoded);
    const double below_full_scale_db = 20.0 * std::log10(1.0 - 2.0 * step_of(bits));
    CHECK(signal_to_error_db(source, *encoded) ==
          Approx(6.0206 * bits + 1.76 - 4.77 + below_full_scale_db).margin(0.1));
  }
}

TEST_CASE("encode: the error's mean and power do not depend on the signal", "[fit]") {
  auto profile = open_decoder({44'100}, {8});
  profile.has_playback_gain = false;
  const double step = step_of(8);
  for (const double part : {0.0, 0.1, 0.25, 0.5, 0.77}) {
    const audio::Clip source = level((10.0 + part) * step, 44'100.0, 200'000);
    const auto encoded = fit::encode(source, {44'100, 8}, profile, seed);
    REQUIRE(encoded);
    double mean = 0.0;
    double square = 0.0;
    for (std::size_t i = 0; i < source.samples.size(); ++i) {
      const double error = static_cast<double>(encoded->clip.samples[i] - source.samples[i]) / step;
      mean += error / 200'000.0;
      square += error * error / 200'000.0;
    }
    CHECK(mean == Approx(0.0).margin(0.006));
    CHECK(square == Approx(0.25).margin(0.006));
  }
}

TEST_CASE("encode: a sound is stored hot and its gain brings it back", "[fit]") {
  const audio::Clip source = sine(441.0, 44'100.0, 44'100, 0.01);
  const auto profile = open_decoder({44'100}, {16});
  const auto encoded = fit::encode(source, {44'100, 16}, profile, seed);
  REQUIRE(encoded);
  const float peak = *std::max_element(encoded->clip.samples.begin(), encoded->clip.samples.end());
  CHECK(static_cast<double>(peak) > 0.9999);
  CHECK(encoded->playback_gain_db == Approx(-40.0).margin(0.01));
  CHECK(signal_to_error_db(source, *encoded) > 92.0);
}

TEST_CASE("encode: without a playback gain the level stays as it is", "[fit]") {
  auto profile = open_decoder({44'100}, {16});
  profile.has_playback_gain = false;
  const audio::Clip source = sine(441.0, 44'100.0, 44'100, 0.25);
  const auto encoded = fit::encode(source, {44'100, 16}, profile, seed);
  REQUIRE(encoded);
  CHECK(encoded->playback_gain_db == 0.0);
  CHECK(power(encoded->clip.samples) == Approx(power(source.samples)).epsilon(1.0e-4));
}

TEST_CASE("encode: samples are whole steps and none is clipped", "[fit]") {
  audio::Clip square = level(1.0, 44'100.0, 20'000);
  for (std::size_t i = 0; i < square.samples.size(); i += 2)
    square.samples[i] = -1.5F;
  for (const bool has_gain : {true, false}) {
    auto profile = open_decoder({44'100}, {8, 12, 16});
    profile.has_playback_gain = has_gain;
    for (const int bits : profile.bits) {
      const auto encoded = fit::encode(square, {44'100, bits}, profile, seed);
      REQUIRE(encoded);
      REQUIRE(encoded->clip.samples.size() == square.samples.size());
      CHECK(encoded->clip.bits == bits);
      const double steps = std::ldexp(1.0, bits - 1);
      std::size_t broken = 0;
      double least = 0.0;
      for (const float sample : encoded->clip.samples) {
        const double code = static_cast<double>(sample) * steps;
        if (code != std::floor(code) || std::abs(code) > steps - 1.0) ++broken;
        least = std::min(least, code);
      }
      CHECK(broken == 0);
      CHECK(least <= -steps + 2.0);  // hot all the same
      CHECK(least < -steps + 1.5);
      // Clipped dither would pile up on the last code; here its outer step stays rare.
      const auto at_end = std::count(encoded->clip.samples.begin(), encoded->clip.samples.end(),
                                     static_cast<float>((1.0 - steps) / steps));
      CHECK(at_end > 0);
      CHECK(at_end < 10'000 / 6);
    }
  }
}

TEST_CASE("encode: silence stays silence", "[fit]") {
  const auto profile = open_decoder({22'050}, {8});
  for (const double value : {0.0, 1.0e-9}) {
    const auto encoded = fit::encode(level(value, 44'100.0, 1000), {22'050, 8}, profile, seed);
    REQUIRE(encoded);
    CHECK(encoded->clip.samples == std::vector<float>(500, 0.0F));
    CHECK(encoded->playback_gain_db == 0.0);
  }
}

TEST_CASE("encode: nothing gives nothing, one frame gives one", "[fit]") {
  const auto profile = open_decoder({44'100}, {16});
  const auto none = fit::encode(level(0.5, 44'100.0, 0), {44'100, 16}, profile, seed);
  REQUIRE(none);
  CHECK(none->clip.samples.empty());
  CHECK(none->playback_gain_db == 0.0);
  const auto one = fit::encode(level(0.5, 44'100.0, 1), {44'100, 16}, profile, seed);
  REQUIRE(one);
  CHECK(one->clip.samples.size() == 1);
}

TEST_CASE("encode: the same seed gives the same bytes, another seed other dither", "[fit]") {
  const audio::Clip source = noise(48'000.0, 10'000, 0.3, 1);
  const auto profile = open_decoder({22'050}, {8});
  const auto once = fit::encode(source, {22'050, 8}, profile, 5);
  const auto again = fit::encode(source, {22'050, 8}, profile, 5);
  const auto other = fit::encode(source, {22'050, 8}, profile, 6);
  REQUIRE((once && again && other));
  CHECK(once->clip == again->clip);
  CHECK_FALSE(once->clip == other->clip);
}

TEST_CASE("encode: a resampled tone keeps its pitch, level and length", "[fit]") {
  const audio::Clip source = sine(997.0, 48'000.0, 48'000, 0.5);
  const auto profile = open_decoder({22'050}, {16});
  const auto encoded = fit::encode(source, {22'050, 16}, profile, seed);
  REQUIRE(encoded);
  REQUIRE(encoded->clip.samples.size() == 22'050);
  CHECK(encoded->clip.sample_rate_hz == 22'050.0);
  CHECK_FALSE(encoded->clip.loop);
  const double gain = gain_of_db(encoded->playback_gain_db);
  double worst = 0.0;
  for (std::size_t i = 500; i < 21'500; ++i) {
    const double wanted =
        0.5 * std::sin(2.0 * std::numbers::pi * 997.0 * static_cast<double>(i) / 22'050.0);
    worst =
        std::max(worst, std::abs(gain * static_cast<double>(encoded->clip.samples[i]) - wanted));
  }
  CHECK(worst < 2.0 * gain * step_of(16));
}

TEST_CASE("encode: a looped sine stays a sine through its wrap", "[fit]") {
  // 480 Hz at 48 kHz: 100 frames a period, so 10 periods before the loop and 100 in it.
  audio::Clip source = sine(480.0, 48'000.0, 13'000, 1.0);
  source.loop = frame_range(1000, 11'000);
  auto profile = open_decoder({11'025, 22'050, 44'100}, {16});
  profile.loop = {64, 16};
  for (const int rate_hz : profile.sample_rates_hz) {
    const auto encoded = fit::encode(source, {rate_hz, 16}, profile, seed);
    REQUIRE(encoded);
    REQUIRE(encoded->clip.loop);
    const FrameRange loop = *encoded->clip.loop;
    const std::int64_t length = loop.length().value();
    CHECK(length % 16 == 0);
    CHECK(length >= 64);
    const std::int64_t turns = encoded->loop_turns;
    // One turn of 2296.875 frames would be 5.4 cents off at 11 025 Hz; two are well inside.
    CHECK(turns == (rate_hz == 11'025 ? 2 : 1));
    // What lies behind the loop is left out.
    CHECK(loop.end.value() == static_cast<std::int64_t>(encoded->clip.samples.size()));
    const double cents =
        1200.0 * std::log2(static_cast<double>(length) /
                           (10'000.0 * static_cast<double>(turns) * rate_hz / 48'000.0));
    CHECK(std::abs(cents) <= 5.0);
    CHECK(loop.start.value() == (length + 10 * turns - 1) / (10 * turns));
    CHECK(off_sine_steps(*encoded, 100.0 * static_cast<double>(turns), 150) < 2.0);
  }
}

TEST_CASE("encode: a loop does not hear what stands before it", "[fit]") {
  // A noisy head leads into a sine: every turn must be the sine alone, from its first frame on.
  audio::Clip source = sine(480.0, 48'000.0, 11'000, 0.9);
  const audio::Clip head = noise(48'000.0, 1000, 0.9, 3);
  std::copy(head.samples.begin(), head.samples.end(), source.samples.begin());
  source.loop = frame_range(1000, 11'000);
  auto profile = open_decoder({22'050}, {16});
  profile.loop = {64, 16};
  const auto encoded = fit::encode(source, {22'050, 16}, profile, seed);
  REQUIRE(encoded);
  const FrameRange loop = *encoded->clip.loop;
  const double gain = gain_of_db(encoded->playback_gain_db);
  double worst = 0.0;
  for (auto i = loop.start.value(); i < loop.end.value(); ++i) {
    const double wanted = 0.9 * std::sin(2.0 * std::numbers::pi * 100.0 * static_cast<double>(i) /
                                         static_cast<double>(loop.length().value()));
    const double heard =
        gain * static_cast<double>(encoded->clip.samples[static_cast<std::size_t>(i)]);
    worst = std::max(worst, std::abs(heard - wanted));
  }
  CHECK(worst < 2.0 * gain * step_of(16));
}

TEST_CASE("encode: a loop too short for the rules is stored as several turns", "[fit]") {
  audio::Clip source = sine(2400.0, 48'000.0, 40, 1.0);  // 20 frames a period
  source.loop = frame_range(20, 40);
  auto profile = open_decoder({22'050}, {16});
  profile.loop = {64, 16};
  const auto encoded = fit::encode(source, {22'050, 16}, profile, seed);
  REQUIRE(encoded);
  const std::int64_t length = encoded->clip.loop->length().value();
  CHECK(encoded->loop_turns > 1);
  CHECK(length % 16 == 0);
  CHECK(length >= 64);
  const double exact = 20.0 * encoded->loop_turns * 22'050.0 / 48'000.0;
  CHECK(std::abs(1200.0 * std::log2(static_cast<double>(length) / exact)) <= 5.0);
  CHECK(off_sine_steps(*encoded, encoded->loop_turns, encoded->clip.loop->start.value()) < 2.0);
}

TEST_CASE("encode: a loop below the least length is stored as just enough turns", "[fit]") {
  audio::Clip source = sine(2000.0, 48'000.0, 24, 1.0);
  source.loop = frame_range(0, 24);
  auto profile = open_decoder({48'000}, {16});
  for (const std::int64_t least : {24, 25, 72, 73}) {
    profile.loop.min_frames = least;
    const auto encoded = fit::encode(source, {48'000, 16}, profile, seed);
    REQUIRE(encoded);
    CHECK(encoded->loop_turns == (least + 23) / 24);
    CHECK(encoded->clip.loop->length().value() == std::int64_t{24} * encoded->loop_turns);
  }
}

TEST_CASE("encode: a loop from the first frame to the last needs no head", "[fit]") {
  audio::Clip source = sine(480.0, 48'000.0, 4800, 1.0);
  source.loop = frame_range(0, 4800);
  const auto profile = open_decoder({16'000}, {16});
  const auto encoded = fit::encode(source, {16'000, 16}, profile, seed);
  REQUIRE(encoded);
  CHECK(*encoded->clip.loop == frame_range(0, 1600));
  CHECK(off_sine_steps(*encoded, 48.0, 0) < 2.0);
}

TEST_CASE("encode: a loop that no number of turns brings within the rules is refused", "[fit]") {
  audio::Clip source = sine(480.0, 48'000.0, 100, 1.0);
  source.loop = frame_range(0, 1);
  auto profile = open_decoder({22'050}, {16});
  profile.loop = {1, 100'000};
  const auto encoded = fit::encode(source, {22'050, 16}, profile, seed);
  REQUIRE_FALSE(encoded);
  CHECK(encoded.error().code == ErrorCode::too_short);
}

TEST_CASE("encode: what the decoder does not offer and what is no clip are refused", "[fit]") {
  const auto profile = open_decoder({22'050}, {8, 16});
  const audio::Clip source = sine(480.0, 48'000.0, 1000, 1.0);
  const auto code_of = [&](const audio::Clip& clip, fit::Encoding encoding) {
    const auto encoded = fit::encode(clip, encoding, profile, seed);
    return encoded ? std::optional<ErrorCode>() : encoded.error().code;
  };
  CHECK_FALSE(code_of(source, {22'050, 16}));
  CHECK(code_of(source, {44'100, 16}) == ErrorCode::bad_argument);
  CHECK(code_of(source, {22'050, 12}) == ErrorCode::bad_argument);
  audio::Clip outside = source;
  outside.loop = frame_range(500, 1001);
  CHECK(code_of(outside, {22'050, 16}) == ErrorCode::bad_argument);
  outside.loop = frame_range(500, 500);
  CHECK(code_of(outside, {22'050, 16}) == ErrorCode::bad_argument);
  audio::Clip timeless = source;
  timeless.sample_rate_hz = 0.0;
  CHECK(code_of(timeless, {22'050, 16}) == ErrorCode::bad_argument);
  audio::Clip broken = source;
  broken.samples[500] = std::numeric_limits<float>::quiet_NaN();
  CHECK(code_of(broken, {22'050, 16}) == ErrorCode::not_finite);
}
