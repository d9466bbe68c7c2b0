// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/onset.h"

#include "support/catch.h"
#include "support/synthetic_steam.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::dsp;

namespace {

OnsetStrength onsets_of(const std::vector<float>& samples, double sample_rate_hz) {
  JobControl job;
  MemorySource source(samples);
  const Result<OnsetStrength> result = onset_strength(source, sample_rate_hz, job);
  REQUIRE(result);
  REQUIRE(result->level_db.size() == result->strength.size());
  for (const float value : result->strength)
    REQUIRE((std::isfinite(value) && value >= 0.0F));
  for (const float value : result->level_db)
    REQUIRE(std::isfinite(value));
  return *result;
}

/// Noise that grows by `step_db` at `step_s`.
std::vector<float> stepped_noise(double seconds, double sample_rate_hz, double step_s,
                                 double step_db, double gain) {
  Random random(5);
  std::vector<float> samples(static_cast<std::size_t>(seconds * sample_rate_hz));
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const bool after = static_cast<double>(i) / sample_rate_hz >= step_s;
    samples[i] =
        static_cast<float>(gain * (after ? gain_of_db(step_db) : 1.0) * random.uniform(-0.1, 0.1));
  }
  return samples;
}

/// The clearest step at an index over 10 to 80 ms, in standard deviations of levels that stray by
/// `noise_db` each.
double clearness(const OnsetStrength& onsets, std::size_t at, double noise_db) {
  double best = 0.0;
  double step_db = 0.0;
  std::size_t width = 0;
  for (const std::size_t span : {2U, 4U, 8U, 16U}) {
    for (; width < span; ++width)
      step_db += static_cast<double>(onsets.level_db[at + width]) -
                 static_cast<double>(onsets.level_db[at - 1 - width]);
    const auto n = static_cast<double>(span);
    best = std::max(best, step_db / n * std::sqrt(n / 2.0) / noise_db);
  }
  return best;
}

double strongest_s(const OnsetStrength& onsets) {
  const auto best = std::max_element(onsets.strength.begin(), onsets.strength.end());
  return onsets.time_s(static_cast<double>(best - onsets.strength.begin()));
}

}  // namespace

TEST_CASE("onset strength: a step of noise is found where it is, at any rate", "[dsp]") {
  for (const double rate : {8000.0, 11025.0, 44100.0, 48000.0, 96000.0, 192000.0}) {
    const OnsetStrength onsets = onsets_of(stepped_noise(2.0, rate, 1.2, 10.0, 1.0), rate);
    INFO("rate " << rate);
    CHECK(strongest_s(onsets) == Approx(1.2).margin(0.006));
    CHECK(onsets.hop_s == Approx(0.005).margin(0.0001));
  }
}

TEST_CASE("onset strength: beats in a few bands stand out of noise in the others", "[dsp]") {
  // Bursts through a resonance, four a second, in steady white noise as loud in all.
  for (const double centre_hz : {150.0, 900.0, 7000.0}) {
    constexpr double rate = 48000.0;
    Random random(9);
    const double turn = 2.0 * std::numbers::pi * centre_hz / rate;
    const double pole = std::exp(-std::numbers::pi * 0.5 * centre_hz / rate);
    double past = 0.0;
    double before = 0.0;
    std::vector<float> samples(static_cast<std::size_t>(8.0 * rate));
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const double phase = std::fmod(static_cast<double>(i) / rate, 0.25);
      const double burst = phase < 0.08 ? 1.0 : 0.0;
      const double now = burst * random.uniform(-1.0, 1.0) + 2.0 * pole * std::cos(turn) * past -
                         pole * pole * before;
      before = past;
      past = now;
      samples[i] = static_cast<float>(0.1 * (1.0 - pole) * now + 0.01 * random.uniform(-1.0, 1.0));
    }
    const OnsetStrength onsets = onsets_of(samples, rate);
    const auto phase_of = [&](std::size_t i) {
      return std::fmod(onsets.time_s(static_cast<double>(i)) + 0.125, 0.25) - 0.125;
    };
    // Of the levels long after a burst, from one to the next but one.
    double between = 0.0;
    double count = 0.0;
    for (std::size_t i = 20; i + 40 < onsets.strength.size(); ++i) {
      if (phase_of(i) > -0.02 || phase_of(i) < -0.08) continue;
      const double change =
          static_cast<double>(onsets.level_db[i]) - static_cast<double>(onsets.level_db[i - 2]);
      between += change * change;
      count += 1.0;
    }
    const double noise_db = std::sqrt(0.5 * between / count);
    double clear = 1e9;
    double at_beats = 1e9;
    double elsewhere = 0.0;
    for (std::size_t i = 20; i + 40 < onsets.strength.size(); ++i) {
      const double phase = phase_of(i);
      if (std::fabs(phase) > 0.05)
        elsewhere = std::max(elsewhere, static_cast<double>(onsets.strength[i]));
      if (std::fabs(phase) < 0.0026) {
        const auto first = onsets.strength.begin() + static_cast<std::ptrdiff_t>(i);
        at_beats = std::min(at_beats, static_cast<double>(*std::max_element(first - 2, first + 3)));
        double here = 0.0;
        for (std::size_t k = i - 2; k <= i + 2; ++k)
          here = std::max(here, clearness(onsets, k, noise_db));
        clear = std::min(clear, here);
      }
    }
    INFO("bursts at " << centre_hz << " Hz: " << at_beats << " against " << elsewhere << ", level "
                      << clear);
    CHECK(at_beats > 1.5 * elsewhere);
    CHECK(clear > 33.5);  // bands all alike would give 32.6 at 150 Hz, 27.8 at 7 kHz
  }
}

TEST_CASE("onset strength: gain changes nothing", "[dsp]") {
  const OnsetStrength loud = onsets_of(stepped_noise(1.0, 48000.0, 0.5, 10.0, 1.0), 48000.0);
  const OnsetStrength soft = onsets_of(stepped_noise(1.0, 48000.0, 0.5, 10.0, 1e-3), 48000.0);
  for (std::size_t i = 0; i < loud.strength.size(); ++i)
    REQUIRE(soft.strength[i] == Approx(loud.strength[i]).margin(0.05));
}

TEST_CASE("onset strength: a fall is none, a steady sound has no strong one", "[dsp]") {
  const OnsetStrength fall = onsets_of(stepped_noise(2.0, 48000.0, 1.0, -20.0, 1.0), 48000.0);
  const auto index = static_cast<std::size_t>((1.0 - fall.first_s) / fall.hop_s);
  CHECK(fall.strength[index] == 0.0F);
  const OnsetStrength even = onsets_of(stepped_noise(5.0, 48000.0, 9.0, 0.0, 1.0), 48000.0);
  CHECK(*std::max_element(even.strength.begin(), even.strength.end()) < 8.0F);
  const OnsetStrength step = onsets_of(stepped_noise(5.0, 48000.0, 2.0, 10.0, 1.0), 48000.0);
  CHECK(*std::max_element(step.strength.begin(), step.strength.end()) > 20.0F);
}

TEST_CASE("onset strength: nothing, one frame, silence and DC say nothing", "[dsp]") {
  CHECK(onsets_of({}, 48000.0).strength.empty());
  CHECK(onsets_of({0.5F}, 48000.0).strength.empty());
  CHECK(onsets_of(std::vector<float>(48000, 0.0F), 48000.0).strength.empty());
  for (const float value : onsets_of(std::vector<float>(48000, 1.0F), 48000.0).strength)
    REQUIRE(value < 2.0F);
}

TEST_CASE("onset strength: a full-scale sine that starts at 0.5 s starts there", "[dsp]") {
  std::vector<float> sine(48000, 0.0F);
  for (std::size_t i = 24000; i < sine.size(); ++i)
    sine[i] = static_cast<float>(
        std::sin(2.0 * std::numbers::pi * 1000.0 * static_cast<double>(i) / 48000.0));
  CHECK(strongest_s(onsets_of(sine, 48000.0)) == Approx(0.5).margin(0.011));
}

TEST_CASE("onset strength: the largest floats stay finite", "[dsp]") {
  std::vector<float> samples = stepped_noise(1.0, 48000.0, 0.5, 10.0, 1.0);
  for (float& value : samples)
    value *= std::numeric_limits<float>::max();
  CHECK(strongest_s(onsets_of(samples, 48000.0)) == Approx(0.5).margin(0.006));
}

TEST_CASE("onset strength: a wrong rate and what is not finite are refused", "[dsp]") {
  JobControl job;
  const std::vector<float> fine(48000, 0.1F);
  for (const double rate : {0.0, -1.0, 7999.0, 192001.0, std::nan("")}) {
    MemorySource source(fine);
    const auto result = onset_strength(source, rate, job);
    REQUIRE_FALSE(result);
    CHECK(result.error().code == ErrorCode::bad_argument);
  }
  for (const float wrong :
       {std::numeric_limits<float>::quiet_NaN(), std::numeric_limits<float>::infinity()}) {
    std::vector<float> samples = fine;
    samples[777] = wrong;
    MemorySource source(samples);
    const auto result = onset_strength(source, 48000.0, job);
    REQUIRE_FALSE(result);
    CHECK(result.error().code == ErrorCode::not_finite);
    CHECK(result.error().place == "frame 777");
  }
}

TEST_CASE("onset strength: gusts that carry all levels are no steps, and beats in them are",
          "[dsp]") {
  // Noise whose level strays by 4 dB within a tenth of a second, as wind does; in the second take
  // with bursts 20 dB over it, one a second.
  constexpr double rate = 32000.0;
  const auto gusty = [](double burst_db) {
    Random random(23);
    tests::detail::Noise gusts(7, 3.0, rate);
    std::vector<float> samples(static_cast<std::size_t>(30.0 * rate));
    for (std::size_t i = 0; i < samples.size(); ++i) {
      const double t = static_cast<double>(i) / rate;
      const double burst = t - std::floor(t) < 0.08 ? burst_db : 0.0;
      samples[i] =
          static_cast<float>(gain_of_db(4.0 * gusts.next() + burst) * random.uniform(-0.05, 0.05));
    }
    return onsets_of(samples, rate);
  };
  const OnsetStrength wind = gusty(0.0);
  const float loudest = *std::max_element(wind.strength.begin(), wind.strength.end());
  CHECK(loudest < 10.0F);  // of hops that stray each by itself: 19.7
  const OnsetStrength beats = gusty(20.0);
  std::vector<float> at_beats;
  for (int second = 1; second < 29; ++second) {
    const auto hop = static_cast<std::size_t>(
        std::lround((static_cast<double>(second) - beats.first_s) / beats.hop_s));
    at_beats.push_back(
        *std::max_element(beats.strength.begin() + static_cast<std::ptrdiff_t>(hop) - 2,
                          beats.strength.begin() + static_cast<std::ptrdiff_t>(hop) + 3));
  }
  std::sort(at_beats.begin(), at_beats.end());
  INFO("wind: " << loudest << ", quarter of the beats under " << at_beats[at_beats.size() / 4]);
  CHECK(at_beats[at_beats.size() / 4] > loudest);
}
