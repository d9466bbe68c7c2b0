// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/fft.h"

#include "support/catch.h"

#include "fourbeat/base/random.h"

#include <complex>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::dsp;

namespace {

std::vector<float> noise(std::size_t count, std::uint64_t seed) {
  Random random(seed);
  std::vector<float> x(count);
  for (float& value : x)
    value = static_cast<float>(random.uniform(-1.0, 1.0));
  return x;
}

std::vector<std::complex<float>> spectrum(const std::vector<float>& x) {
  const RealFft fft(x.size());
  std::vector<std::complex<float>> bins(x.size() / 2 + 1);
  fft.forward(x, bins);
  return bins;
}

}  // namespace

TEST_CASE("real FFT: a sine of whole periods is one bin of half the size", "[dsp]") {
  constexpr std::size_t size = 480;
  std::vector<float> x(size);
  for (std::size_t i = 0; i < size; ++i)
    x[i] = static_cast<float>(std::sin(2.0 * std::numbers::pi * 12.0 * static_cast<double>(i) /
                                       static_cast<double>(size)));
  const auto bins = spectrum(x);
  for (std::size_t k = 0; k < bins.size(); ++k)
    CHECK(std::abs(bins[k]) == Approx(k == 12 ? size / 2.0 : 0.0).margin(1e-3));
  CHECK(bins[12].imag() == Approx(-(size / 2.0)).margin(1e-3));
}

TEST_CASE("real FFT: DC is the first bin, silence is nothing", "[dsp]") {
  const auto dc = spectrum(std::vector<float>(64, 1.0F));
  CHECK(dc[0].real() == Approx(64.0));
  CHECK(std::abs(dc[1]) < 1e-4F);
  for (const auto& bin : spectrum(std::vector<float>(64, 0.0F)))
    CHECK(std::abs(bin) == 0.0F);
}

TEST_CASE("real FFT: there and back is the size times the input, also for the least size",
          "[dsp]") {
  for (const std::size_t size : {2UL, 4UL, 30UL, 512UL, 1000UL}) {
    const std::vector<float> x = noise(size, size);
    const auto bins = spectrum(x);
    const RealFft fft(size);
    std::vector<float> back(size);
    fft.inverse(bins, back);
    for (std::size_t i = 0; i < size; ++i)
      REQUIRE(back[i] / static_cast<float>(size) == Approx(x[i]).margin(1e-5));
  }
}

TEST_CASE("good FFT size: the least even product of 2, 3 and 5 that is enough", "[dsp]") {
  CHECK(good_fft_size(0) == 2);
  CHECK(good_fft_size(1) == 2);
  CHECK(good_fft_size(3) == 4);
  CHECK(good_fft_size(7) == 8);
  CHECK(good_fft_size(14) == 16);
  CHECK(good_fft_size(17) == 18);
  CHECK(good_fft_size(509) == 512);
  CHECK(good_fft_size(513) == 540);
}

TEST_CASE("autocorrelation: 1, 2, 3 gives 14, 8, 3", "[dsp]") {
  const std::vector<float> x = {1.0F, 2.0F, 3.0F};
  const std::vector<float> r = autocorrelation(x, 4);
  REQUIRE(r.size() == 5);
  CHECK(r[0] == Approx(14.0));
  CHECK(r[1] == Approx(8.0));
  CHECK(r[2] == Approx(3.0));
  CHECK(r[3] == Approx(0.0).margin(1e-5));
  CHECK(r[4] == Approx(0.0).margin(1e-5));
}

TEST_CASE("autocorrelation: the FFT's agrees with the direct sum", "[dsp]") {
  const std::vector<float> x = noise(1000, 3);
  const std::vector<float> r = autocorrelation(x, 300);
  for (std::size_t lag = 0; lag <= 300; ++lag) {
    double sum = 0.0;
    for (std::size_t i = 0; i + lag < x.size(); ++i)
      sum += static_cast<double>(x[i]) * static_cast<double>(x[i + lag]);
    REQUIRE(r[lag] == Approx(sum).margin(1e-3));
  }
}

TEST_CASE("autocorrelation: nothing and one frame", "[dsp]") {
  CHECK(autocorrelation({}, 3) == std::vector<float>(4, 0.0F));
  const std::vector<float> one = {0.5F};
  CHECK(autocorrelation(one, 1)[0] == Approx(0.25));
}

TEST_CASE("Hann window: 0 at the start, 1 in the middle, two halves overlap to 1", "[dsp]") {
  const std::vector<float> w = hann_window(16);
  CHECK(w[0] == 0.0F);
  CHECK(w[8] == Approx(1.0));
  for (std::size_t i = 0; i < 8; ++i)
    CHECK(w[i] + w[i + 8] == Approx(1.0));
}
