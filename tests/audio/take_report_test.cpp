// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/take_report.h"

#include "audio_files.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/audio/loudness.h"
#include "fourbeat/base/random.h"

#include <numbers>

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

TakeReport report_of(const Pcm& pcm, WavDepth depth = WavDepth::f32) {
  const TempFolder folder;
  REQUIRE(write_wav(folder / "take.wav", pcm, depth));
  JobControl job;
  Result<TakeReport> report = report_take(folder / "take.wav", job);
  REQUIRE(report);
  return *report;
}

ChannelReport report_of(const std::vector<float>& samples, double rate_hz = 48000.0,
                        WavDepth depth = WavDepth::f32) {
  return report_of(Pcm{rate_hz, {samples}}, depth).channels.at(0);
}

std::vector<float> noise(std::size_t frames, double rms, std::uint64_t seed) {
  Random random(seed);
  std::vector<float> samples(frames);
  for (float& sample : samples)
    sample = static_cast<float>(rms * random.normal());
  return samples;
}

void add(std::vector<float>& into, const std::vector<float>& other) {
  for (std::size_t i = 0; i < into.size(); ++i)
    into[i] += other[i];
}

/// An RF64 by hand (EBU Tech 3306), 24 bit, 48 kHz; its sound is a hole in the file.
void put_sparse_rf64(const std::filesystem::path& path, int channels, std::int64_t frames) {
  const std::int64_t data_bytes = frames * channels * 3;
  std::string head = "RF64";
  little(head, 0xFFFFFFFFU, 4);
  head += "WAVEds64";
  little(head, 28, 4);
  little(head, static_cast<std::uint64_t>(data_bytes) + 72, 8);
  little(head, static_cast<std::uint64_t>(data_bytes), 8);
  little(head, static_cast<std::uint64_t>(frames), 8);
  little(head, 0, 4);
  head += "fmt ";
  little(head, 16, 4);
  little(head, 1, 2);
  little(head, static_cast<std::uint64_t>(channels), 2);
  little(head, 48000, 4);
  little(head, std::uint64_t{48000} * static_cast<std::uint64_t>(channels) * 3, 4);
  little(head, static_cast<std::uint64_t>(channels) * 3, 2);
  little(head, 24, 2);
  head += "data";
  little(head, 0xFFFFFFFFU, 4);
  put(path, head);
  std::filesystem::resize_file(path, head.size() + static_cast<std::uintmax_t>(data_bytes));
}

}  // namespace

TEST_CASE("take report: a sine has its own peak, level and loudness", "[audio]") {
  // 997 Hz at full scale on one channel reads -3.01 LKFS (BS.1770).
  const ChannelReport report = report_of(sine(997.0, 48000.0, 96000, 1.0));
  CHECK(*report.peak_dbfs == Approx(0.0).margin(0.01));
  CHECK(*report.rms_dbfs == Approx(-3.01).margin(0.01));
  CHECK(*report.loudness_lufs == Approx(-3.01).margin(0.05));
  CHECK(*report.true_peak_dbtp == Approx(0.0).margin(0.1));
  CHECK(*report.noise_floor_dbfs == Approx(-3.01).margin(0.05));
  CHECK(std::fabs(report.dc_offset) < 1e-3);
  CHECK(report.dropouts == 0);
}

TEST_CASE("take report: silence has no levels, and DC only its own", "[audio]") {
  const ChannelReport silence = report_of(std::vector<float>(480000, 0.0F));
  CHECK_FALSE(silence.peak_dbfs);
  CHECK_FALSE(silence.rms_dbfs);
  CHECK_FALSE(silence.loudness_lufs);
  CHECK_FALSE(silence.noise_floor_dbfs);
  CHECK_FALSE(silence.true_peak_dbtp);
  CHECK_FALSE(silence.hum_db);
  CHECK_FALSE(silence.wind_db);
  CHECK(silence.dc_offset == 0.0);
  CHECK(silence.flat_tops == 0);
  CHECK(silence.dropouts == 0);
  const ChannelReport dc = report_of(std::vector<float>(48000, -0.25F));
  CHECK(dc.dc_offset == Approx(-0.25));
  CHECK(*dc.peak_dbfs == Approx(-12.04).margin(0.01));
  CHECK(*dc.rms_dbfs == Approx(-12.04).margin(0.01));
}

TEST_CASE("take report: one frame has a peak and nothing that needs a window", "[audio]") {
  const ChannelReport report = report_of(std::vector<float>{0.5F});
  CHECK(*report.peak_dbfs == Approx(-6.02).margin(0.01));
  CHECK_FALSE(report.loudness_lufs);
  CHECK_FALSE(report.noise_floor_dbfs);
  CHECK_FALSE(report.hum_hz);
  CHECK_FALSE(report.wind_db);
}

TEST_CASE("take report: each channel is reported on its own", "[audio]") {
  const TakeReport report =
      report_of(Pcm{48000.0,
                    {sine(500.0, 48000.0, 48000, 0.5), std::vector<float>(48000, 0.0F),
                     sine(500.0, 48000.0, 48000, 0.05)}});
  REQUIRE(report.channels.size() == 3);
  CHECK(*report.channels[0].peak_dbfs == Approx(-6.02).margin(0.01));
  CHECK_FALSE(report.channels[1].peak_dbfs);
  CHECK(*report.channels[2].peak_dbfs == Approx(-26.02).margin(0.01));
}

TEST_CASE("take report: the noise floor is that of the quietest tenth", "[audio]") {
  std::vector<float> samples = noise(48000, 0.001, 3);  // 1 s of -60 dBFS, then 4 s of -20
  const std::vector<float> loud = noise(std::size_t{4} * 48000, 0.1, 4);
  samples.insert(samples.end(), loud.begin(), loud.end());
  CHECK(*report_of(samples).noise_floor_dbfs == Approx(-60.0).margin(0.2));
  // Two tenths of the frames are silence: there is no level to name.
  std::fill(samples.begin(), samples.begin() + 48000, 0.0F);
  CHECK_FALSE(report_of(samples).noise_floor_dbfs);
}

TEST_CASE("take report: clipped tops are counted, clean ones are not", "[audio]") {
  std::vector<float> samples = sine(100.0, 48000.0, 48000, 1.5);
  for (float& sample : samples)
    sample = std::clamp(sample, -1.0F, 1.0F);
  CHECK(report_of(samples, 48000.0, WavDepth::s16).flat_tops == 200);  // both halves of 100 cycles
  CHECK(report_of(sine(1000.0, 48000.0, 48000, 0.99), 48000.0, WavDepth::s16).flat_tops == 0);
  // Flat, but far from full scale.
  for (float& sample : samples)
    sample *= 0.25F;
  CHECK(report_of(samples, 48000.0, WavDepth::s16).flat_tops == 0);
}

TEST_CASE("take report: a gap inside sound is a dropout; silence around sound is not", "[audio]") {
  std::vector<float> samples = sine(440.0, 48000.0, 96000, 0.3);
  std::fill(samples.begin(), samples.begin() + 9000, 0.0F);
  std::fill(samples.end() - 9000, samples.end(), 0.0F);
  CHECK(report_of(samples).dropouts == 0);
  std::fill(samples.begin() + 30000, samples.begin() + 30040, 0.0F);  // under 1 ms
  CHECK(report_of(samples).dropouts == 0);
  std::fill(samples.begin() + 40000, samples.begin() + 40100, 0.0F);
  std::fill(samples.begin() + 60000, samples.begin() + 70000, 0.0F);
  CHECK(report_of(samples).dropouts == 2);
}

TEST_CASE("take report: mains hum is found at its own frequency and measured in dB", "[audio]") {
  for (const double rate_hz : {44100.0, 48000.0, 96000.0}) {
    const auto frames = static_cast<std::size_t>(12.0 * rate_hz);
    // Noise of 0.01 RMS has 0.0001 / (rate / 2) a hertz; a Hann window of 4 s gathers 0.375 Hz.
    const double beside = 1e-4 / (rate_hz / 2.0) * 0.375;
    for (const double hum_hz : {16.7, 50.0, 120.0, 300.0}) {
      CAPTURE(rate_hz, hum_hz);
      std::vector<float> samples = noise(frames, 0.01, 7);
      add(samples, sine(hum_hz, rate_hz, frames, 0.004));
      const ChannelReport report = report_of(samples, rate_hz);
      REQUIRE(report.hum_hz);
      CHECK(*report.hum_hz == hum_hz);
      CHECK(*report.hum_db == Approx(10.0 * std::log10(0.5 * 0.004 * 0.004 / beside)).margin(1.5));
    }
    const ChannelReport clean = report_of(noise(frames, 0.01, 8), rate_hz);
    CHECK(*clean.hum_db < 10.0);
  }
}

TEST_CASE("take report: gusts are wind, a steady rumble is not", "[audio]") {
  const std::size_t frames = std::size_t{20} * 48000;
  std::vector<float> gusts = noise(frames, 0.3, 11);
  double state = 0.0;
  std::vector<float> steady(frames);
  for (std::size_t i = 0; i < frames; ++i) {
    state += 0.002 * (static_cast<double>(gusts[i]) - state);  // a low-pass near 15 Hz
    steady[i] = static_cast<float>(10.0 * state);
  }
  for (std::size_t i = 0; i < frames; ++i)
    gusts[i] = (i / 96000) % 4 == 0 ? steady[i] * 2.0F : steady[i] * 0.1F;
  const std::vector<float> ground = noise(frames, 0.03, 12);
  add(gusts, ground);
  add(steady, ground);
  const double windy_db = *report_of(gusts).wind_db;
  const double steady_db = *report_of(steady).wind_db;
  CAPTURE(windy_db, steady_db);
  CHECK(windy_db > steady_db + 8.0);
}

TEST_CASE("take report: true peak and loudness are those of the whole meter", "[audio]") {
  std::vector<float> samples = noise(std::size_t{3} * 48000, 0.05, 21);
  // A burst between samples, ending just in front of a piece's border, then quiet.
  for (std::size_t i = 0; i < 1024; ++i) {
    samples[std::size_t{40} * 1024 + i] += static_cast<float>(
        0.7 * std::sin(std::numbers::pi * (static_cast<double>(i) / 2.0 + 0.25)));
  }
  for (const double rate_hz : {8000.0, 48000.0, 96000.0}) {
    Result<LoudnessMeter> meter = LoudnessMeter::make(1, rate_hz);
    REQUIRE(meter);
    REQUIRE(meter->add(Pcm{rate_hz, {samples}}));
    const ChannelReport report = report_of(samples, rate_hz);
    CHECK(*report.true_peak_dbtp == *meter->figures().true_peak_dbtp);
    CHECK(*report.loudness_lufs == Approx(*meter->figures().integrated_lufs).margin(1e-9));
  }
}

TEST_CASE("take report: a peak between two samples is found wherever reading is divided",
          "[audio]") {
  for (std::size_t at = 0; at < std::size_t{3} * 1024; at += at % 1024 < 1000 ? 250 : 1) {
    std::vector<float> samples = noise(4096, 0.01, 22);
    samples[at] = 0.8F;
    samples[at + 1] = 0.8F;
    Result<LoudnessMeter> meter = LoudnessMeter::make(1, 48000.0);
    REQUIRE(meter);
    REQUIRE(meter->add(Pcm{48000.0, {samples}}));
    CAPTURE(at);
    CHECK(*report_of(samples).true_peak_dbtp == *meter->figures().true_peak_dbtp);
  }
}

TEST_CASE("take report: a broken take is refused and a cancelled report ends", "[audio]") {
  const TempFolder folder;
  JobControl job;
  put(folder / "text.wav", "this is no sound");
  CHECK(report_take(folder / "text.wav", job).error().code == ErrorCode::not_audio);
  Pcm pcm{48000.0, {std::vector<float>(100000, 0.1F)}};
  REQUIRE(write_wav(folder / "a.wav", pcm, WavDepth::f32));
  class Stop : public JobControl {
   public:
    [[nodiscard]] bool cancelled() const override { return blocks_ >= 2; }
    void progress(double, std::string_view) override { ++blocks_; }

   private:
    int blocks_ = 0;
  } stop;
  CHECK(report_take(folder / "a.wav", stop).error().code == ErrorCode::cancelled);
}

TEST_CASE("take report: a sparse RF64 is silence of its whole length", "[audio]") {
  const TempFolder folder;
  put_sparse_rf64(folder / "short.wav", 8, 1'000'000);
  JobControl job;
  const Result<TakeReport> report = report_take(folder / "short.wav", job);
  REQUIRE(report);
  CHECK(report->info.format == "RF64 24-bit PCM");
  CHECK(report->info.frames == FrameCount(1'000'000));
  CHECK_FALSE(report->channels.at(7).peak_dbfs);
  // And one that goes over 4 GiB opens at once, to its last frame.
  put_sparse_rf64(folder / "long.wav", 8, 268'435'456);
  Result<SoundFileReader> reader = SoundFileReader::open(folder / "long.wav");
  REQUIRE(reader);
  const Result<Pcm> last = reader->read(frame_range(268'435'455, 268'435'456));
  REQUIRE(last);
  CHECK(last->frames() == FrameCount(1));
}
