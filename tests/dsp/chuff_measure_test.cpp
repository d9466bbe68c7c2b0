// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/chuff_measure.h"

#include "support/catch.h"

#include "fourbeat/base/random.h"

#include <cmath>
#include <limits>
#include <numbers>

using namespace fourbeat;

namespace {

constexpr double rate_hz = 48'000.0;

/// A background of -60 dBFS, from frame 4800 on a sine of -9 dBFS RMS that dies away by 60 dB in
/// 4800 frames, and another at 16 800.
std::vector<float> two_beats() {
  std::vector<float> samples(20'000);
  Random random(1);
  for (std::size_t i = 0; i < samples.size(); ++i) {
    double x = 0.001 * random.uniform(-1.7320508, 1.7320508);
    for (const std::size_t start : {std::size_t{4800}, std::size_t{16'800}}) {
      if (i < start) continue;
      const double decay = std::pow(10.0, -3.0 * static_cast<double>(i - start) / 4800.0);
      x += 0.5 * decay *
           std::sin(2.0 * std::numbers::pi * 1000.0 * static_cast<double>(i) / rate_hz);
    }
    samples[i] = static_cast<float>(x);
  }
  return samples;
}

}  // namespace

TEST_CASE("chuff measure: peak, background and end of a beat that dies away", "[dsp]") {
  const auto measure = dsp::measure_chuff(two_beats(), rate_hz, FrameIndex(4800),
                                          FrameIndex(16'800), FrameCount(480));
  REQUIRE(measure);
  // The first 5 ms lose 3 dB on their way, so their mean lies 1.6 dB under the start.
  CHECK(measure->peak_dbfs == Approx(-9.03 - 1.6).margin(0.7));
  CHECK(measure->background_dbfs == Approx(-60.0).margin(1.5));
  CHECK(measure->end_dbfs == Approx(-60.0).margin(2.5));
  CHECK(measure->quiet_frames.value() >= 96);  // its window must not see the attack
  CHECK(measure->quiet_frames.value() <= 480);
  CHECK(measure->flat_tops == 0);
}

TEST_CASE("chuff measure: the energy of each third octave is that of a tone in it", "[dsp]") {
  const std::vector<double> centres = dsp::third_octave_centres_hz(rate_hz);
  REQUIRE(centres.size() == 21);
  // Source: IEC 61260-1, exact mid-band frequencies 1000 × 10^(k / 10).
  CHECK(centres[10] == Approx(1000.0).epsilon(1e-9));
  CHECK(centres[20] == Approx(10'000.0).epsilon(1e-9));
  std::vector<float> tone(24'000);
  for (std::size_t i = 0; i < tone.size(); ++i) {
    tone[i] = static_cast<float>(
        0.5 * std::sin(2.0 * std::numbers::pi * 1000.0 * static_cast<double>(i) / rate_hz));
  }
  const std::vector<float> bands = dsp::third_octave_energies_db(tone, rate_hz);
  REQUIRE(bands.size() == 21);
  // 0.125 of full scale squared over half a second.
  CHECK(bands[10] == Approx(10.0 * std::log10(0.0625)).margin(0.1));
  for (std::size_t band = 0; band < bands.size(); ++band) {
    if (band != 10) CHECK(bands[band] < bands[10] - 25.0F);
  }
}

TEST_CASE("chuff measure: white noise rises by 3 dB an octave in bands of equal ratio", "[dsp]") {
  std::vector<float> noise(96'000);
  Random random(2);
  for (float& sample : noise)
    sample = static_cast<float>(random.uniform(-0.3, 0.3));
  CHECK(dsp::spectral_tilt_db_per_octave(dsp::third_octave_energies_db(noise, rate_hz)) ==
        Approx(3.01).margin(0.1));
}

TEST_CASE("chuff measure: what cannot be measured is no figure", "[dsp]") {
  std::vector<float> samples = two_beats();
  const auto measure = [&](std::int64_t beat, std::int64_t next, std::int64_t lead) {
    return dsp::measure_chuff(samples, rate_hz, FrameIndex(beat), FrameIndex(next),
                              FrameCount(lead));
  };
  CHECK(measure(4800, 16'800, 480));
  CHECK_FALSE(measure(4800, 20'000, 480));
  CHECK_FALSE(measure(100, 16'800, 480));
  CHECK_FALSE(measure(4800, 5000, 480));
  samples[6000] = std::numeric_limits<float>::quiet_NaN();
  CHECK_FALSE(measure(4800, 16'800, 480));
  samples.assign(20'000, 0.0F);
  CHECK_FALSE(measure(4800, 16'800, 480));
  CHECK_FALSE(dsp::measure_chuff({}, rate_hz, FrameIndex(0), FrameIndex(1), FrameCount(0)));
}
