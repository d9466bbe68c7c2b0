// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/loudness.h"

#include "audio_files.h"

#include "fourbeat/audio/true_peak.h"
#include "fourbeat/base/decibels.h"

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

constexpr double rate_hz = 48000.0;

struct Part {
  double peak_dbfs;
  double seconds;
};

/// A 1 kHz sine whose level steps at whole samples, without a phase jump.
std::vector<float> tone(const std::vector<Part>& parts, double hz = 1000.0) {
  std::vector<float> samples;
  for (const Part& part : parts) {
    const auto frames = static_cast<std::size_t>(std::llround(part.seconds * rate_hz));
    for (std::size_t n = 0; n < frames; ++n) {
      const double angle =
          2.0 * std::numbers::pi * hz * static_cast<double>(samples.size()) / rate_hz;
      samples.push_back(static_cast<float>(gain_of_db(part.peak_dbfs) * std::sin(angle)));
    }
  }
  return samples;
}

Loudness measured(const std::vector<std::vector<float>>& channels,
                  ChannelWeights weights = ChannelWeights::all_front,
                  std::size_t block_frames = 4800) {
  auto meter = LoudnessMeter::make(static_cast<int>(channels.size()), rate_hz, weights);
  REQUIRE(meter);
  const std::size_t frames = channels.front().size();
  for (std::size_t at = 0; at < frames; at += block_frames) {
    Pcm block{rate_hz, {}};
    const std::size_t end = std::min(frames, at + block_frames);
    for (const auto& channel : channels)
      block.channels.emplace_back(channel.begin() + static_cast<std::ptrdiff_t>(at),
                                  channel.begin() + static_cast<std::ptrdiff_t>(end));
    REQUIRE(meter->add(block));
  }
  return meter->figures();
}

Loudness stereo(const std::vector<Part>& parts) {
  const std::vector<float> samples = tone(parts);
  return measured({samples, samples});
}

std::vector<Part> repeated(const std::vector<Part>& parts, int times) {
  std::vector<Part> all;
  for (int i = 0; i < times; ++i)
    all.insert(all.end(), parts.begin(), parts.end());
  return all;
}

}  // namespace

// EBU Tech 3341 (V4, November 2023), Table 1, "minimum requirements test signals".

TEST_CASE("EBU Tech 3341 signals 1 and 2: steady tones read their level on every scale") {
  for (const double level : {-23.0, -33.0}) {
    const Loudness loudness = stereo({{level, 20.0}});
    CHECK(loudness.max_momentary_lufs.value() == Approx(level).margin(0.1));
    CHECK(loudness.max_short_term_lufs.value() == Approx(level).margin(0.1));
    CHECK(loudness.integrated_lufs.value() == Approx(level).margin(0.1));
  }
}

TEST_CASE("EBU Tech 3341 signals 3, 4 and 5: the gates leave the quiet parts out", "[deep]") {
  const auto integrated = [](const std::vector<Part>& parts) {
    return stereo(parts).integrated_lufs.value();
  };
  CHECK(integrated({{-36, 10}, {-23, 60}, {-36, 10}}) == Approx(-23.0).margin(0.1));
  CHECK(integrated({{-72, 10}, {-36, 10}, {-23, 60}, {-36, 10}, {-72, 10}}) ==
        Approx(-23.0).margin(0.1));
  CHECK(integrated({{-26, 20}, {-20, 20.1}, {-26, 20}}) == Approx(-23.0).margin(0.1));
}

TEST_CASE("EBU Tech 3341 signal 6: five channels with surround weights") {
  const auto front = tone({{-28, 20}});
  const auto surround = tone({{-30, 20}});
  const Loudness loudness =
      measured({front, front, tone({{-24, 20}}), surround, surround}, ChannelWeights::surround_5_0);
  CHECK(loudness.integrated_lufs.value() == Approx(-23.0).margin(0.1));
}

TEST_CASE("EBU Tech 3341 signals 9 and 12: the short-term and momentary windows") {
  CHECK(stereo(repeated({{-20, 1.34}, {-30, 1.66}}, 5)).max_short_term_lufs.value() ==
        Approx(-23.0).margin(0.1));
  CHECK(stereo(repeated({{-20, 0.18}, {-30, 0.22}}, 25)).max_momentary_lufs.value() ==
        Approx(-23.0).margin(0.1));
}

TEST_CASE("EBU Tech 3341 signals 15 to 19: true peak between the samples") {
  struct Row {
    double divisor, amplitude, phase_deg, expected_dbtp;
  };
  for (const Row& row : {Row{4, 0.5, 0, -6}, Row{4, 0.5, 45, -6}, Row{6, 0.5, 60, -6},
                         Row{8, 0.5, 67.5, -6}, Row{4, 1.41, 45, 3}}) {
    std::vector<float> samples = sine(rate_hz / row.divisor, rate_hz, 48000, row.amplitude,
                                      row.phase_deg / 180.0 * std::numbers::pi);
    for (std::size_t n = 0; n < 480; ++n) {
      const float gain = static_cast<float>(n) / 480.0F;
      samples[n] *= gain;
      samples[samples.size() - 1 - n] *= gain;
    }
    const double peak = measured({samples, samples}).true_peak_dbtp.value();
    CHECK(peak <= row.expected_dbtp + 0.2);
    CHECK(peak >= row.expected_dbtp - 0.4);
  }
}

TEST_CASE("true peak alone is the meter's, however blocks are cut, and says where it is") {
  std::vector<float> samples = tone({{-20, 1.0}, {-30, 1.0}});
  const std::size_t at = 61234;
  samples[at] = 0.7F;  // two neighbours as high: the wave between them is higher
  samples[at + 1] = 0.7F;
  const double expected = measured({samples}).true_peak_dbtp.value();
  CHECK(expected > -3.0);
  for (const std::size_t block : {samples.size(), std::size_t{441}, std::size_t{7}}) {
    Result<TruePeakMeter> meter = TruePeakMeter::make(rate_hz);
    REQUIRE(meter);
    CHECK(meter->peak() == 0.0);
    for (std::size_t done = 0; done < samples.size(); done += block) {
      REQUIRE(meter->add(MonoView(samples).subspan(done, std::min(block, samples.size() - done))));
    }
    CHECK(db_of_amplitude(meter->peak()).value() == Approx(expected).margin(1e-9));
    CHECK(std::abs(meter->frame() - static_cast<std::int64_t>(at)) <= 1024);
  }
  CHECK(TruePeakMeter::make(0.0).error().code == ErrorCode::bad_argument);
}

TEST_CASE("EBU Tech 3342 signals 1 to 3: loudness range", "[deep]") {
  CHECK(stereo({{-20, 20}, {-30, 20}}).range_lu.value() == Approx(10.0).margin(1.0));
  CHECK(stereo({{-20, 20}, {-15, 20}}).range_lu.value() == Approx(5.0).margin(1.0));
  CHECK(stereo({{-40, 20}, {-20, 20}}).range_lu.value() == Approx(20.0).margin(1.0));
}

TEST_CASE("one channel counts once: 997 Hz at full scale reads -3.01") {
  // ITU-R BS.1770-5, Annex 1.
  const Loudness loudness = measured({tone({{0, 5}}, 997.0)});
  CHECK(loudness.integrated_lufs.value() == Approx(-3.01).margin(0.02));
}

TEST_CASE("silence, nothing and too little have no figure") {
  const Loudness silent = measured({std::vector<float>(200000, 0.0F)});
  CHECK(!silent.integrated_lufs);
  CHECK(!silent.max_momentary_lufs);
  CHECK(!silent.max_short_term_lufs);
  CHECK(!silent.range_lu);
  CHECK(!silent.true_peak_dbtp);
  const Loudness brief = measured({tone({{-20, 0.3}})});
  CHECK(!brief.integrated_lufs);
  CHECK(!brief.max_momentary_lufs);
  CHECK(brief.true_peak_dbtp);
  const Loudness one = measured({{0.5F}});
  CHECK(!one.integrated_lufs);
}

TEST_CASE("how the blocks are cut does not change the figures") {
  const std::vector<float> samples = tone({{-20, 3.3}, {-30, 2.2}});
  const Loudness one = measured({samples}, ChannelWeights::all_front, samples.size());
  const Loudness many = measured({samples}, ChannelWeights::all_front, 977);
  CHECK(one.integrated_lufs == many.integrated_lufs);
  CHECK(one.max_momentary_lufs == many.max_momentary_lufs);
  CHECK(one.true_peak_dbtp == many.true_peak_dbtp);
}

TEST_CASE("a meter refuses what it cannot measure") {
  CHECK(LoudnessMeter::make(0, rate_hz).error().code == ErrorCode::bad_argument);
  CHECK(LoudnessMeter::make(65, rate_hz).error().code == ErrorCode::bad_argument);
  CHECK(LoudnessMeter::make(1, 0.0).error().code == ErrorCode::bad_argument);
  CHECK(LoudnessMeter::make(1, std::nan("")).error().code == ErrorCode::bad_argument);
  auto meter = LoudnessMeter::make(2, rate_hz);
  REQUIRE(meter);
  CHECK(meter->add({rate_hz, {{0.0F}}}).error().code == ErrorCode::bad_argument);
  CHECK(meter->add({rate_hz, {{0.0F}, {}}}).error().code == ErrorCode::bad_argument);
  CHECK(meter->add({rate_hz, {{0.0F}, {std::nanf("")}}}).error().code == ErrorCode::not_finite);
}

TEST_CASE("K-weighted energy follows the filter's gain at any rate and counts seconds") {
  // Gains of the two stages together: ITU-R BS.1770-5 Annex 1, Tables 1 and 2, worked out.
  struct Row {
    double hz, gain_db;
  };
  for (const double at_hz : {48000.0, 44100.0, 96000.0, 22050.0}) {
    for (const Row& row : {Row{60, -2.899}, Row{100, -1.134}, Row{500, 0.043}, Row{997, 0.691},
                           Row{2000, 3.071}, Row{8000, 4.039}}) {
      if (row.hz > at_hz / 3.0) continue;
      const auto frames = static_cast<std::size_t>(4.0 * at_hz);
      const double energy_db = k_weighted_energy_db(sine(row.hz, at_hz, frames), at_hz).value();
      const double expected = -0.691 + row.gain_db + 10.0 * std::log10(0.125 * 4.0);
      INFO(at_hz << " Hz, tone " << row.hz);
      // The bilinear transform bends the shelf a little where it nears half the rate.
      CHECK(energy_db == Approx(expected).margin(at_hz < 44100.0 ? 0.1 : 0.05));
    }
  }
}

TEST_CASE("K-weighted energy of twice as long is 3 dB more, of silence there is none") {
  const double once = k_weighted_energy_db(sine(1000, rate_hz, 48000), rate_hz).value();
  const double twice = k_weighted_energy_db(sine(1000, rate_hz, 96000), rate_hz).value();
  CHECK(twice - once == Approx(3.01).margin(0.02));
  CHECK(!k_weighted_energy_db({}, rate_hz));
  CHECK(!k_weighted_energy_db(std::vector<float>(1000, 0.0F), rate_hz));
  CHECK(k_weighted_energy_db(std::vector<float>{1.0F}, rate_hz));
  CHECK(!k_weighted_energy_db(std::vector<float>{std::nanf("")}, rate_hz));
  CHECK(!k_weighted_energy_db(std::vector<float>{1.0F}, 0.0));
}
