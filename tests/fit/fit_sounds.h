// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/random.h"
#include "fourbeat/model/decoder_profile.h"

#include <numbers>

namespace fourbeat::tests {

/// A decoder that takes what comes: one byte a sector, no overhead, plenty of memory.
inline model::DecoderProfile open_decoder(std::vector<int> rates_hz, std::vector<int> bits) {
  model::DecoderProfile profile;
  profile.id = "open";
  profile.memory_bytes = 1'000'000'000;
  profile.max_sounds = 1000;
  profile.output_rate_hz = rates_hz.back();
  profile.sample_rates_hz = std::move(rates_hz);
  profile.bits = std::move(bits);
  return profile;
}

inline audio::Clip sine(double frequency_hz, double rate_hz, std::int64_t frames, double peak) {
  audio::Clip clip;
  clip.sample_rate_hz = rate_hz;
  for (std::int64_t i = 0; i < frames; ++i) {
    const double turns = frequency_hz * static_cast<double>(i) / rate_hz;
    clip.samples.push_back(
        static_cast<float>(peak * std::sin(2.0 * std::numbers::pi * (turns - std::floor(turns)))));
  }
  return clip;
}

inline audio::Clip noise(double rate_hz, std::int64_t frames, double peak, std::uint64_t seed) {
  audio::Clip clip;
  clip.sample_rate_hz = rate_hz;
  Random random(seed);
  for (std::int64_t i = 0; i < frames; ++i)
    clip.samples.push_back(static_cast<float>(random.uniform(-peak, peak)));
  return clip;
}

inline audio::Clip level(double value, double rate_hz, std::int64_t frames) {
  audio::Clip clip;
  clip.sample_rate_hz = rate_hz;
  clip.samples.assign(static_cast<std::size_t>(frames), static_cast<float>(value));
  return clip;
}

inline double power(const std::vector<float>& samples) {
  double sum = 0.0;
  for (const float sample : samples)
    sum += static_cast<double>(sample) * static_cast<double>(sample);
  return sum / static_cast<double>(samples.size());
}

}  // namespace fourbeat::tests
