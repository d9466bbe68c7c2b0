// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/random.h"
#include "fourbeat/dsp/clean.h"
#include "fourbeat/dsp/crossfade.h"
#include "fourbeat/dsp/fft.h"
#include "fourbeat/dsp/loop_finder.h"

#include <cmath>
#include <complex>
#include <cstdint>
#include <numbers>
#include <utility>
#include <vector>

/// Sounds with a known truth for the tests of seams and loops.
namespace fourbeat::loop_sounds {

/// For tests that a low rate makes quick.
namespace at_16_khz {
inline constexpr double rate = 16000.0;
inline constexpr std::size_t second = 16000;
}  // namespace at_16_khz

inline audio::Pcm pcm_of(std::vector<std::vector<float>> channels, double rate_hz = 48000.0) {
  return {rate_hz, std::move(channels)};
}

inline dsp::LoopSpec loop_of(std::int64_t start, std::int64_t end, std::int64_t fade = 0,
                             bool at_start = false) {
  return {frame_range(start, end), FrameCount(fade), at_start, 0.0, {}};
}

/// The loops of a material, which must be to be had.
inline dsp::LoopSearch found(const audio::Pcm& material, const dsp::LoopParams& params = {}) {
  JobControl job;
  Result<dsp::LoopSearch> search = dsp::find_loops(material, params, job);
  REQUIRE(search);
  return *search;
}

/// White noise of -20 dBFS.
inline std::vector<float> noise(std::size_t frames, std::uint64_t seed) {
  Random random(seed);
  std::vector<float> out(frames);
  for (float& x : out)
    x = static_cast<float>(0.1 * random.normal());
  return out;
}

/// Lets the two sides of the loop's crossfade not cancel: of noise, half do by chance. Noise whose
/// polarity turns at one of its frames is the same kind of noise.
inline void turn_to_blend(audio::Pcm& pcm, const dsp::LoopSpec& loop) {
  if (dsp::blend_correlation(pcm, loop) >= 0.0) return;
  for (std::vector<float>& channel : pcm.channels) {
    const auto from = channel.begin() + (loop.at_start ? loop.range.end.value() : 0);
    const auto to = loop.at_start ? channel.end() : channel.begin() + loop.range.start.value();
    for (auto x = from; x != to; ++x)
      *x = -*x;
  }
}

/// The noise through a one-pole low-pass: y += share × (x - y).
inline std::vector<float> dull_noise(std::size_t frames, std::uint64_t seed, double share) {
  std::vector<float> out = noise(frames, seed);
  double y = 0.0;
  for (float& x : out) {
    y += share * (x - y);
    x = static_cast<float>(y);
  }
  return out;
}

inline std::vector<float> sine(std::size_t frames, double period_frames, double level = 0.5) {
  std::vector<float> out(frames);
  for (std::size_t i = 0; i < frames; ++i)
    out[i] = static_cast<float>(
        level * std::sin(2.0 * std::numbers::pi * static_cast<double>(i) / period_frames));
  return out;
}

/// Multiplies by gain(time in seconds).
template <class Gain>
void shape(std::vector<float>& samples, double rate_hz, Gain gain) {
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = static_cast<float>(samples[i] * gain(static_cast<double>(i) / rate_hz));
}

namespace at_16_khz {

/// Noise below and noise above about 1.4 kHz, which have nothing in common; the upper one has a
/// gain in dB over time.
template <class Gain>
std::vector<float> two_bands(double seconds, std::uint64_t seed, Gain upper_db) {
  const auto frames = static_cast<std::size_t>(seconds * rate);
  std::vector<float> low = noise(frames, seed);
  for (int pole = 0; pole < 4; ++pole) {
    double y = 0.0;
    for (float& x : low) {
      y += 0.35 * (static_cast<double>(x) - y);
      x = static_cast<float>(y);
    }
  }
  std::vector<float> high = noise(frames, seed + 500);
  REQUIRE(dsp::high_pass(high, rate, 1414.0, 8));
  shape(high, rate, [&](double t) { return std::pow(10.0, upper_db(t) / 20.0); });
  for (std::size_t i = 0; i < low.size(); ++i)
    low[i] += high[i];
  return low;
}

/// White noise of which what lies from low_hz to high_hz has a gain in dB over time.
template <class Gain>
std::vector<float> one_band(double seconds, std::uint64_t seed, double low_hz, double high_hz,
                            Gain gain_db) {
  std::vector<float> rest = noise(2 * static_cast<std::size_t>(0.5 * seconds * rate), seed);
  const dsp::RealFft fft(rest.size());
  std::vector<std::complex<float>> bins(rest.size() / 2 + 1);
  fft.forward(rest, bins);
  for (std::complex<float>& bin : bins)
    bin /= static_cast<float>(rest.size());
  std::vector<std::complex<float>> inside(bins.size());
  for (std::size_t k = 0; k < bins.size(); ++k) {
    const double hz = static_cast<double>(k) * rate / static_cast<double>(rest.size());
    if (hz >= low_hz && hz < high_hz) std::swap(inside[k], bins[k]);
  }
  std::vector<float> band(rest.size());
  fft.inverse(inside, band);
  fft.inverse(bins, rest);
  shape(band, rate, [&](double t) { return std::pow(10.0, gain_db(t) / 20.0); });
  for (std::size_t i = 0; i < rest.size(); ++i)
    rest[i] += band[i];
  return rest;
}

}  // namespace at_16_khz

/// A pump: bursts of noise every `period_s`, each interval uneven by `jitter` (standard
/// deviation, share of the period), over a bed 30 dB lower.
struct Pump {
  std::vector<float> samples;
  std::vector<double> strokes_s;
};
inline Pump pump(double seconds, double rate_hz, double period_s, double jitter,
                 std::uint64_t seed) {
  Pump out{noise(static_cast<std::size_t>(seconds * rate_hz), seed), {}};
  Random random(seed + 1000);
  for (double t = 0.1; t < seconds; t += period_s * (1.0 + jitter * random.normal()))
    out.strokes_s.push_back(t);
  std::size_t stroke = 0;
  shape(out.samples, rate_hz, [&](double t) {
    while (stroke + 1 < out.strokes_s.size() && out.strokes_s[stroke + 1] <= t)
      ++stroke;
    const double since = t - out.strokes_s[stroke];
    return 0.03 + (since >= 0.0 ? std::exp(-since / 0.12) : 0.0);
  });
  return out;
}

}  // namespace fourbeat::loop_sounds
