// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/speaker.h"

#include "support/catch.h"

#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::dsp;

namespace {

/// What the filters must do by their analogue prototypes, H(s) of the Audio EQ Cookbook (W3C Group
/// Note, 2021: s²/(s²+s/Q+1), (s²+s(A/Q)+1)/(s²+s/(AQ)+1), 1/(s²+s/Q+1)), with the bilinear
/// transform's s = j tan(w/2) / tan(w0/2).
double prototype_db(double hz, double rate_hz, const SpeakerResponse& speaker) {
  const auto at = [&](double centre_hz) {
    return std::complex<double>(0.0, std::tan(std::numbers::pi * hz / rate_hz) /
                                         std::tan(std::numbers::pi * centre_hz / rate_hz));
  };
  const std::complex<double> high = at(speaker.high_pass_hz);
  std::complex<double> h = high * high / (high * high + high / speaker.high_pass_q + 1.0);
  if (speaker.peak_hz < 0.5 * rate_hz) {
    const std::complex<double> s = at(speaker.peak_hz);
    const double a = std::pow(10.0, speaker.peak_db / 40.0);
    h *= (s * s + s * (a / speaker.peak_q) + 1.0) / (s * s + s / (a * speaker.peak_q) + 1.0);
  }
  if (speaker.low_pass_hz < 0.5 * rate_hz) {
    const std::complex<double> s = at(speaker.low_pass_hz);
    h *= 1.0 / (s * s + s / speaker.low_pass_q + 1.0);
  }
  return 20.0 * std::log10(std::abs(h));
}

/// The level of a tone behind the speaker over the one before it, once it has settled.
double heard_db(double hz, double rate_hz, const SpeakerResponse& speaker) {
  const auto frames = static_cast<std::size_t>(rate_hz);
  std::vector<float> samples(frames);
  const double step = 2.0 * std::numbers::pi * hz / rate_hz;
  for (std::size_t i = 0; i < frames; ++i)
    samples[i] = static_cast<float>(0.5 * std::sin(step * static_cast<double>(i)));
  REQUIRE(through_speaker(samples, rate_hz, speaker));
  std::complex<double> sum = 0.0;
  const std::size_t half = frames / 2;
  for (std::size_t i = half; i < frames; ++i) {
    const double angle = step * static_cast<double>(i);
    sum +=
        static_cast<double>(samples[i]) * std::complex<double>(std::cos(angle), -std::sin(angle));
  }
  return 20.0 * std::log10(4.0 * std::abs(sum) / static_cast<double>(frames - half));
}

const SpeakerResponse small{700.0, 1.1, 3500.0, 5.0, 1.5, 11000.0, 0.7};

}  // namespace

TEST_CASE("speaker: tones come out as the closed form says, at every rate", "[dsp]") {
  for (const double rate_hz : {8000.0, 11025.0, 16000.0, 22050.0, 32000.0, 44100.0, 48000.0}) {
    for (const double share : {0.01, 0.04, 0.1, 0.2, 0.3, 0.4}) {
      // A whole number of turns in the half second that is looked at.
      const double hz = 4.0 * std::round(share * rate_hz / 4.0);
      INFO(hz << " Hz at " << rate_hz);
      const double wanted = prototype_db(hz, rate_hz, small);
      CHECK(heard_db(hz, rate_hz, small) == Approx(wanted).margin(0.02));
      CHECK(10.0 * std::log10(speaker_power(hz, rate_hz, small)) == Approx(wanted).margin(0.001));
    }
  }
}

TEST_CASE("speaker: at their own frequencies the filters have their own gains", "[dsp]") {
  // A second-order section has the gain Q at its corner; the peak its gain in dB.
  SpeakerResponse one{1000.0, 2.0, 5000.0, 0.0, 1.0, 40000.0, 0.7};
  CHECK(heard_db(1000.0, 48000.0, one) == Approx(20.0 * std::log10(2.0)).margin(0.01));
  one = {20.0, 0.7, 5000.0, -9.0, 1.0, 40000.0, 0.7};
  CHECK(heard_db(5000.0, 48000.0, one) == Approx(-9.0).margin(0.01));
  one = {20.0, 0.7, 500.0, 0.0, 1.0, 6000.0, 0.5};
  CHECK(heard_db(6000.0, 48000.0, one) == Approx(20.0 * std::log10(0.5)).margin(0.01));
}

TEST_CASE("speaker: a low-pass or peak above half the rate is left out", "[dsp]") {
  SpeakerResponse without = small;
  without.low_pass_hz = 39000.0;
  std::vector<float> a(2000, 0.0F);
  a[100] = 1.0F;
  std::vector<float> b = a;
  REQUIRE(through_speaker(a, 16000.0, small));  // 11 kHz at 16 kHz
  REQUIRE(through_speaker(b, 16000.0, without));
  CHECK(a == b);
  std::vector<float> c(2000, 0.0F);
  c[100] = 1.0F;
  REQUIRE(through_speaker(c, 24000.0, small));
  CHECK(a != c);
  CHECK(std::all_of(a.begin(), a.end(), [](float x) { return std::isfinite(x); }));
}

TEST_CASE("speaker: what cannot be filtered is refused and left as it was", "[dsp]") {
  std::vector<float> samples(100, 0.25F);
  const std::vector<float> before = samples;
  SpeakerResponse bad = small;
  CHECK(through_speaker(samples, 1500.0, bad).error().place == "high_pass_hz");
  CHECK(through_speaker(samples, -1.0, bad).error().place == "sample_rate_hz");
  bad.peak_q = 0.0;
  CHECK(through_speaker(samples, 48000.0, bad).error().place == "peak_q");
  bad = small;
  bad.peak_db = std::nan("");
  CHECK(through_speaker(samples, 48000.0, bad).error().place == "peak_db");
  CHECK(samples == before);
  samples[7] = std::numeric_limits<float>::infinity();
  CHECK(through_speaker(samples, 48000.0, small).error().code == ErrorCode::not_finite);
}
