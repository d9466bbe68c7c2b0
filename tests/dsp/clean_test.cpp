// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/clean.h"

#include "support/catch.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"

#include <complex>
#include <limits>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::dsp;

namespace {

constexpr double rate_hz = 48000.0;

/// Gain at a frequency of an impulse response, by direct sum.
double gain_db_at(const std::vector<float>& response, double hz) {
  std::complex<double> sum = 0.0;
  for (std::size_t i = 0; i < response.size(); ++i)
    sum += static_cast<double>(response[i]) *
           std::polar(1.0, -2.0 * std::numbers::pi * hz * static_cast<double>(i) / rate_hz);
  return db_of_amplitude(std::abs(sum)).value_or(-300.0);
}

std::vector<float> impulse(std::size_t frames) {
  std::vector<float> out(frames, 0.0F);
  out[0] = 1.0F;
  return out;
}

}  // namespace

// Butterworth magnitude: 1 / sqrt(1 + (fc / f)^(2 n)); S. Butterworth, Experimental Wireless 7
// (1930). The bilinear transform moves f to tan(pi f / rate), exact at the cutoff.
TEST_CASE("high pass: the impulse response has the Butterworth magnitude", "[dsp]") {
  for (const int order : {2, 4, 6, 8}) {
    for (const double cutoff_hz : {40.0, 300.0, 5000.0}) {
      std::vector<float> response = impulse(48000);
      REQUIRE(high_pass(response, rate_hz, cutoff_hz, order));
      CHECK(gain_db_at(response, cutoff_hz) == Approx(-3.0103).margin(0.01));
      for (const double factor : {0.5, 2.0}) {
        const double warped = std::tan(std::numbers::pi * factor * cutoff_hz / rate_hz) /
                              std::tan(std::numbers::pi * cutoff_hz / rate_hz);
        const double expected_db = -10.0 * std::log10(1.0 + std::pow(warped, -2.0 * order));
        CHECK(gain_db_at(response, factor * cutoff_hz) == Approx(expected_db).margin(0.02));
      }
    }
  }
}

TEST_CASE("high pass: a constant dies away, and silence stays silence", "[dsp]") {
  std::vector<float> constant(96000, 0.8F);
  REQUIRE(high_pass(constant, rate_hz, 40.0, 4));
  CHECK(std::abs(constant.back()) < 1e-6F);
  std::vector<float> silence(1000, 0.0F);
  REQUIRE(high_pass(silence, rate_hz, 40.0, 4));
  CHECK(silence == std::vector<float>(1000, 0.0F));
  std::vector<float> nothing;
  CHECK(high_pass(nothing, rate_hz, 40.0, 4));
  std::vector<float> one = {1.0F};
  REQUIRE(high_pass(one, rate_hz, 40.0, 4));
  CHECK(one[0] == Approx(1.0).margin(0.02));
}

TEST_CASE("hum notch: each line vanishes and its neighbours stay", "[dsp]") {
  std::vector<float> response = impulse(96000);
  REQUIRE(hum_notch(response, rate_hz, 50.0, 4, 30.0));
  for (const double line_hz : {50.0, 100.0, 150.0, 200.0}) {
    CHECK(gain_db_at(response, line_hz) < -60.0);
    CHECK(gain_db_at(response, line_hz * (1.0 + 0.5 / 30.0)) == Approx(-3.01).margin(0.35));
    CHECK(gain_db_at(response, line_hz + 25.0) > -0.5);
  }
  CHECK(gain_db_at(response, 250.0) > -0.1);
  CHECK(gain_db_at(response, 5000.0) == Approx(0.0).margin(0.01));
}

TEST_CASE("hum notch: lines above 0.45 of the rate are left out", "[dsp]") {
  std::vector<float> one_line = impulse(2000);
  std::vector<float> many_lines = one_line;
  REQUIRE(hum_notch(one_line, 1000.0, 240.0, 1, 20.0));
  REQUIRE(hum_notch(many_lines, 1000.0, 240.0, 64, 20.0));
  CHECK(one_line == many_lines);
}

TEST_CASE("tilt: the spectrum slopes by the decibels asked for, about the pivot", "[dsp]") {
  for (const double slope : {-6.0, -3.0, -0.7, 1.5, 4.0, 6.0}) {
    std::vector<float> response = impulse(96000);
    REQUIRE(tilt(response, rate_hz, slope, 1000.0));
    CHECK(gain_db_at(response, 1000.0) == Approx(0.0).margin(0.05));
    const auto warped = [](double hz) { return std::tan(std::numbers::pi * hz / rate_hz); };
    for (const double hz : {40.0, 63.0, 125.0, 400.0, 700.0, 1600.0, 3000.0, 8000.0, 14'000.0}) {
      CHECK(gain_db_at(response, hz) ==
            Approx(slope * std::log2(warped(hz) / warped(1000.0))).margin(0.3));
      if (hz > 0.1 * rate_hz) continue;
      CHECK(gain_db_at(response, hz) == Approx(slope * std::log2(hz / 1000.0)).margin(0.6));
    }
  }
  std::vector<float> untouched = impulse(100);
  REQUIRE(tilt(untouched, rate_hz, 0.0, 1000.0));
  CHECK(untouched == impulse(100));
}

TEST_CASE("clean: full-scale noise stays finite and the same twice", "[dsp]") {
  Random random(1);
  std::vector<float> a(48000);
  for (float& x : a)
    x = random.uniform() < 0.5 ? -1.0F : 1.0F;
  std::vector<float> b = a;
  for (std::vector<float>* samples : {&a, &b}) {
    REQUIRE(high_pass(*samples, rate_hz, 80.0, 8));
    REQUIRE(hum_notch(*samples, rate_hz, 50.0, 20, 35.0));
    REQUIRE(tilt(*samples, rate_hz, -2.0, 1000.0));
  }
  CHECK(a == b);
  CHECK(std::all_of(a.begin(), a.end(), [](float x) { return std::isfinite(x); }));
}

TEST_CASE("clean: wrong parameters and NaN are refused and change nothing", "[dsp]") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const std::vector<float> original = impulse(100);
  std::vector<float> samples = original;
  const auto refused = [&](const Status& status) {
    REQUIRE_FALSE(status);
    CHECK(status.error().code == ErrorCode::bad_argument);
    CHECK(samples == original);
  };
  refused(high_pass(samples, rate_hz, 0.0, 4));
  refused(high_pass(samples, rate_hz, 21600.0, 4));
  refused(high_pass(samples, rate_hz, nan, 4));
  refused(high_pass(samples, 0.0, 40.0, 4));
  refused(high_pass(samples, nan, 40.0, 4));
  for (const int order : {0, 1, 3, 10, -2})
    refused(high_pass(samples, rate_hz, 40.0, order));
  refused(hum_notch(samples, rate_hz, 0.0, 4, 30.0));
  refused(hum_notch(samples, rate_hz, 50.0, 0, 30.0));
  refused(hum_notch(samples, rate_hz, 50.0, 65, 30.0));
  refused(hum_notch(samples, rate_hz, 50.0, 4, 0.0));
  refused(hum_notch(samples, rate_hz, 50.0, 4, nan));
  refused(tilt(samples, rate_hz, 6.1, 1000.0));
  refused(tilt(samples, rate_hz, nan, 1000.0));
  refused(tilt(samples, rate_hz, 3.0, 0.0));

  samples[42] = std::numeric_limits<float>::quiet_NaN();
  const Status status = high_pass(samples, rate_hz, 40.0, 4);
  REQUIRE_FALSE(status);
  CHECK(status.error().code == ErrorCode::not_finite);
  CHECK(status.error().place == "frame 42");
  CHECK(hum_notch(samples, rate_hz, 50.0, 4, 30.0).error().code == ErrorCode::not_finite);
}
