// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"

#include "fourbeat/audio/pcm.h"

#include <sndfile.h>

#include <fstream>
#include <numbers>
#include <string>
#include <string_view>

namespace fourbeat::tests {

inline std::vector<float> sine(double hz, double rate_hz, std::size_t frames,
                               double amplitude = 0.5, double phase = 0.0) {
  std::vector<float> samples(frames);
  for (std::size_t n = 0; n < frames; ++n) {
    const double angle = 2.0 * std::numbers::pi * hz * static_cast<double>(n) / rate_hz + phase;
    samples[n] = static_cast<float>(amplitude * std::sin(angle));
  }
  return samples;
}

/// Samples that are exactly k / 2^(bits-1), all over the range of `bits`, both ends included.
inline std::vector<float> exact_samples(int bits, std::size_t frames, std::uint32_t seed = 1) {
  const double scale = std::ldexp(1.0, bits - 1);
  std::vector<float> samples{-1.0F, static_cast<float>((scale - 1.0) / scale), 0.0F};
  std::uint32_t state = seed;
  while (samples.size() < frames) {
    state = state * 1664525U + 1013904223U;
    const double k = std::floor(static_cast<double>(state) / 4294967296.0 * 2.0 * scale) - scale;
    samples.push_back(static_cast<float>(k / scale));
  }
  samples.resize(frames);
  return samples;
}

inline void put(const std::filesystem::path& path, std::string_view bytes) {
  std::ofstream stream(path, std::ios::binary);
  stream.write(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  REQUIRE(stream.good());
}

/// Any format of libsndfile, written by libsndfile alone.
inline void write_by_libsndfile(const std::filesystem::path& path, const audio::Pcm& pcm,
                                int format) {
  SF_INFO info{};
  info.samplerate = static_cast<int>(pcm.sample_rate_hz);
  info.channels = static_cast<int>(pcm.channels.size());
  info.format = format;
  SNDFILE* file = sf_open(path.c_str(), SFM_WRITE, &info);
  REQUIRE(file != nullptr);
  std::vector<float> floats;
  std::vector<int> integers;
  for (std::size_t n = 0; n < pcm.channels.front().size(); ++n) {
    for (const auto& channel : pcm.channels) {
      floats.push_back(channel[n]);
      integers.push_back(static_cast<int>(
          std::clamp(std::ldexp(double{channel[n]}, 31), -2147483648.0, 2147483647.0)));
    }
  }
  const auto frames = static_cast<sf_count_t>(pcm.channels.front().size());
  const int encoding = format & SF_FORMAT_SUBMASK;
  const bool integer = encoding == SF_FORMAT_PCM_16 || encoding == SF_FORMAT_PCM_24;
  // Floats would be scaled by 2^15 - 1 and the like on their way to integers.
  const sf_count_t wrote = integer ? sf_writef_int(file, integers.data(), frames)
                                   : sf_writef_float(file, floats.data(), frames);
  REQUIRE(wrote == frames);
  REQUIRE(sf_close(file) == 0);
}

inline void little(std::string& bytes, std::uint64_t value, int count) {
  for (int i = 0; i < count; ++i)
    bytes.push_back(static_cast<char>((value >> (8 * i)) & 0xFFU));
}

/// A WAV put together by hand: 16-bit, one channel, 48 kHz; the data chunk says `said` bytes.
inline std::string hand_made_wav(std::uint32_t said, std::string_view data,
                                 std::string_view before = "") {
  std::string bytes = "RIFF";
  little(bytes, 36 + before.size() + data.size(), 4);
  bytes += "WAVEfmt ";
  little(bytes, 16, 4);
  little(bytes, 1, 2);
  little(bytes, 1, 2);
  little(bytes, 48000, 4);
  little(bytes, 96000, 4);
  little(bytes, 2, 2);
  little(bytes, 16, 2);
  bytes += before;
  bytes += "data";
  little(bytes, said, 4);
  bytes += data;
  return bytes;
}

}  // namespace fourbeat::tests
