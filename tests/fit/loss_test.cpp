// SPDX-License-Identifier: GPL-3.0-or-later
#include "fit/weighting.h"
#include "fit_sounds.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/fit/encode.h"

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

double loss_db(const audio::Clip& source, fit::Encoding encoding,
               const model::DecoderProfile& profile) {
  const auto encoded = fit::encode(source, encoding, profile, 1);
  REQUIRE(encoded);
  const auto loss = fit::encoding_loss(source, *encoded);
  REQUIRE(loss);
  REQUIRE(*loss > 0.0);
  return 10.0 * std::log10(*loss);
}

/// What A-weighting leaves of white noise between 0 and half a rate, in dB.
double weighted_noise_db(double rate_hz) {
  double sum = 0.0;
  constexpr int bands = 20'000;
  for (int i = 0; i < bands; ++i)
    sum += fit::a_weight_power((i + 0.5) / bands * rate_hz / 2.0);
  return 10.0 * std::log10(sum / bands);
}

}  // namespace

TEST_CASE("loss: a 1 kHz sine loses the dithered quantiser's noise, as the A curve hears it",
          "[fit]") {
  const audio::Clip source = sine(1000.0, 44'100.0, 88'200, 1.0);
  const auto profile = open_decoder({44'100}, {8, 12, 16});
  for (const int bits : profile.bits) {
    // 6.02 N + 1.76 dB less 4.77 dB for TPDF dither (Lipshitz, Wannamaker and Vanderkooy, 1992).
    const double expected_db = -(6.0206 * bits + 1.76 - 4.77) + weighted_noise_db(44'100.0);
    CHECK(loss_db(source, {44'100, bits}, profile) == Approx(expected_db).margin(0.5));
  }
}

TEST_CASE("loss: what a low rate cannot carry is lost, as the A curve hears it", "[fit]") {
  // Two tones of equal level; 11.025 kHz carries only the first. A(8 kHz) = -1.1 dB, A(1 kHz) = 0.
  audio::Clip source = sine(1000.0, 44'100.0, 44'100, 0.4);
  const audio::Clip high = sine(7943.0, 44'100.0, 44'100, 0.4);
  for (std::size_t i = 0; i < source.samples.size(); ++i)
    source.samples[i] += high.samples[i];
  const auto profile = open_decoder({11'025, 44'100}, {16});
  const double lost = std::pow(10.0, -0.11);
  CHECK(loss_db(source, {11'025, 16}, profile) ==
        Approx(10.0 * std::log10(lost / (1.0 + lost))).margin(0.1));
  CHECK(loss_db(source, {44'100, 16}, profile) < -80.0);
}

TEST_CASE("loss: what a speaker does not pass is no loss", "[fit]") {
  // 11.025 kHz carries the first tone only; a speaker that falls by 24 dB up to the second one
  // takes as much from what is lost.
  audio::Clip source = sine(1000.0, 44'100.0, 44'100, 0.4);
  const audio::Clip high = sine(8000.0, 44'100.0, 44'100, 0.4);
  for (std::size_t i = 0; i < source.samples.size(); ++i)
    source.samples[i] += high.samples[i];
  const auto encoded = fit::encode(source, {11'025, 16}, open_decoder({11'025}, {16}), 1);
  REQUIRE(encoded);
  const dsp::SpeakerResponse dull{20.0, 0.7, 1000.0, 0.0, 1.0, 2000.0, 0.707};
  const auto flat = fit::encoding_loss(source, *encoded);
  const auto heard = fit::encoding_loss(source, *encoded, dull);
  REQUIRE(flat);
  REQUIRE(heard);
  const double fall_db = 10.0 * std::log10(dsp::speaker_power(8000.0, 44'100.0, dull));
  CHECK(fall_db < -24.0);
  CHECK(10.0 * std::log10(*heard / *flat) == Approx(fall_db).margin(0.3));
}

TEST_CASE("loss: deep rumble that is lost counts for little", "[fit]") {
  const audio::Clip rumble = sine(20.0, 44'100.0, 44'100, 0.9);
  audio::Clip source = sine(1000.0, 44'100.0, 44'100, 0.1);
  fit::EncodedClip without;
  without.clip = source;
  for (std::size_t i = 0; i < source.samples.size(); ++i)
    source.samples[i] += rumble.samples[i];
  const auto loss = fit::encoding_loss(source, without);
  REQUIRE(loss);
  // 19 dB stronger and weighted by -50.5 dB.
  CHECK(10.0 * std::log10(*loss) < -25.0);
}

TEST_CASE("loss: more bits and a higher rate never lose more on a noise", "[fit]") {
  const audio::Clip source = noise(48'000.0, 24'000, 0.5, 2);
  const auto profile = open_decoder({11'025, 22'050, 44'100}, {8, 16});
  CHECK(loss_db(source, {11'025, 16}, profile) > loss_db(source, {22'050, 16}, profile) + 1.0);
  CHECK(loss_db(source, {22'050, 16}, profile) > loss_db(source, {44'100, 16}, profile) + 1.0);
  CHECK(loss_db(source, {44'100, 8}, profile) > loss_db(source, {44'100, 16}, profile));
}

TEST_CASE("loss: a loop's change of pitch is not a loss", "[fit]") {
  audio::Clip source = sine(480.0, 48'000.0, 13'000, 1.0);
  source.loop = frame_range(1000, 11'000);
  auto profile = open_decoder({22'050}, {16});
  profile.loop = {64, 16};  // 4593.75 frames become 4592
  CHECK(loss_db(source, {22'050, 16}, profile) < -60.0);

  audio::Clip tiny = sine(2400.0, 48'000.0, 40, 1.0);
  tiny.loop = frame_range(0, 20);
  const auto encoded = fit::encode(tiny, {22'050, 16}, profile, 1);
  REQUIRE(encoded);
  REQUIRE(encoded->loop_turns > 1);
  CHECK(loss_db(tiny, {22'050, 16}, profile) < -30.0);
}

TEST_CASE("loss: the gain that restores the level is part of the round trip", "[fit]") {
  const audio::Clip source = sine(1000.0, 44'100.0, 44'100, 0.01);
  const auto profile = open_decoder({44'100}, {16});
  auto encoded = fit::encode(source, {44'100, 16}, profile, 1);
  REQUIRE(encoded);
  CHECK(*fit::encoding_loss(source, *encoded) < 1.0e-8);
  encoded->playback_gain_db += 6.0206;  // twice as loud: the difference is the original itself
  CHECK(*fit::encoding_loss(source, *encoded) == Approx(1.0).epsilon(0.001));
}

TEST_CASE("loss: silence and nothing lose nothing", "[fit]") {
  const auto profile = open_decoder({22'050}, {8});
  for (const std::int64_t frames : {0, 1, 5000}) {
    const audio::Clip source = level(0.0, 44'100.0, frames);
    const auto encoded = fit::encode(source, {22'050, 8}, profile, 1);
    REQUIRE(encoded);
    const auto loss = fit::encoding_loss(source, *encoded);
    REQUIRE(loss);
    CHECK(*loss == 0.0);
  }
}

TEST_CASE("loss: the encoding of another clip is refused", "[fit]") {
  const audio::Clip source = sine(1000.0, 44'100.0, 1000, 1.0);
  audio::Clip looped = source;
  looped.loop = frame_range(0, 441);
  const auto encoded = fit::encode(looped, {44'100, 16}, open_decoder({44'100}, {16}), 1);
  REQUIRE(encoded);
  CHECK(fit::encoding_loss(source, *encoded).error().code == ErrorCode::bad_argument);
}
