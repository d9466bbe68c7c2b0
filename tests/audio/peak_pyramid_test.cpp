// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/peak_pyramid.h"

#include "audio_files.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/random.h"
#include "fourbeat/base/sha256.h"

#include <limits>

using namespace fourbeat;
using namespace fourbeat::audio;
using namespace fourbeat::tests;

namespace {

Pcm random_pcm(std::size_t frames, int channels) {
  Random random(frames);
  Pcm pcm{48000.0, {}};
  for (int c = 0; c < channels; ++c) {
    std::vector<float> samples(frames);
    for (std::size_t i = 0; i < frames; ++i)
      samples[i] = static_cast<float>(random.uniform(-1.0, 1.0) *
                                      (0.1 + static_cast<double>(i % 5000) / 6000.0));
    pcm.channels.push_back(samples);
  }
  return pcm;
}

Result<PeakPyramid> pyramid_of(const std::filesystem::path& path) {
  Result<SoundFileReader> reader = SoundFileReader::open(path);
  REQUIRE(reader);
  JobControl job;
  return PeakPyramid::build(*reader, job);
}

/// What a column must say, from the samples alone.
Peak by_brute_force(const std::vector<float>& samples, double from, double to,
                    std::int64_t block_frames) {
  const auto total = static_cast<std::int64_t>(samples.size());
  const auto first = static_cast<std::int64_t>(std::floor(from));
  const auto end = std::max(first + 1, static_cast<std::int64_t>(std::floor(to)));
  if (end <= 0 || first >= total) return {};
  const std::int64_t begin = std::max<std::int64_t>(0, first) / block_frames * block_frames;
  const std::int64_t stop =
      std::min(total, (std::min(total, end) + block_frames - 1) / block_frames * block_frames);
  Peak peak{std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity(), 0.0F};
  double sum = 0.0;
  for (std::int64_t i = begin; i < stop; ++i) {
    const float x = samples[static_cast<std::size_t>(i)];
    peak.min = std::min(peak.min, x);
    peak.max = std::max(peak.max, x);
    sum += static_cast<double>(x) * static_cast<double>(x);
  }
  peak.rms = static_cast<float>(std::sqrt(sum / static_cast<double>(stop - begin)));
  return peak;
}

std::size_t files_in(const TempFolder& folder) {
  std::size_t count = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder.path())) {
    (void)entry;
    ++count;
  }
  return count;
}

class StopAt : public JobControl {
 public:
  explicit StopAt(int blocks) : left_(blocks) {}
  [[nodiscard]] bool cancelled() const override { return left_ <= 0; }
  void progress(double, std::string_view) override { --left_; }

 private:
  int left_;
};

}  // namespace

TEST_CASE("peak pyramid: any column at any zoom is what the samples say", "[audio]") {
  const TempFolder folder;
  for (const std::size_t frames : {1U, 255U, 256U, 257U, 1280U, 40'000U, 100'003U}) {
    const Pcm pcm = random_pcm(frames, 2);
    REQUIRE(write_wav(folder / "t.wav", pcm, WavDepth::f32));
    const Result<PeakPyramid> pyramid = pyramid_of(folder / "t.wav");
    REQUIRE(pyramid);
    CHECK(pyramid->block_frames() == FrameCount(256));
    for (const double zoom : {0.25, 1.0, 100.0, 256.0, 1000.7, 4096.0, 33'333.3, 2.0e6}) {
      for (const std::int64_t start : {std::int64_t{-5000}, std::int64_t{0}, std::int64_t{777}}) {
        CAPTURE(frames, zoom, start);
        for (int channel = 1; channel <= 2; ++channel) {
          const Result<std::vector<Peak>> columns =
              pyramid->columns(channel, FrameIndex(start), zoom, 40);
          REQUIRE(columns);
          REQUIRE(columns->size() == 40);
          bool same = true;
          for (int i = 0; i < 40; ++i) {
            const double from = static_cast<double>(start) + i * zoom;
            const Peak due = by_brute_force(pcm.channels[static_cast<std::size_t>(channel - 1)],
                                            from, static_cast<double>(start) + (i + 1) * zoom, 256);
            const Peak& is = (*columns)[static_cast<std::size_t>(i)];
            same = same && is.min == due.min && is.max == due.max &&
                   std::fabs(is.rms - due.rms) <= 1e-6F;
          }
          CHECK(same);
        }
      }
    }
  }
}

TEST_CASE("peak pyramid: what is asked wrongly is refused", "[audio]") {
  const TempFolder folder;
  REQUIRE(write_wav(folder / "t.wav", random_pcm(1000, 1), WavDepth::s16));
  const Result<PeakPyramid> pyramid = pyramid_of(folder / "t.wav");
  REQUIRE(pyramid);
  const auto code = [&](int channel, double zoom, std::int64_t count) {
    return pyramid->columns(channel, FrameIndex(0), zoom, count).error().code;
  };
  CHECK(code(0, 1.0, 1) == ErrorCode::bad_argument);
  CHECK(code(2, 1.0, 1) == ErrorCode::bad_argument);
  CHECK(code(1, 0.0, 1) == ErrorCode::bad_argument);
  CHECK(code(1, std::numeric_limits<double>::quiet_NaN(), 1) == ErrorCode::bad_argument);
  CHECK(code(1, std::numeric_limits<double>::infinity(), 1) == ErrorCode::bad_argument);
  CHECK(code(1, 1.0, -1) == ErrorCode::bad_argument);
  CHECK(pyramid->columns(1, FrameIndex(0), 1.0, 0)->empty());
}

TEST_CASE("peak pyramid: the kept one is used for its own take alone", "[audio]") {
  const TempFolder folder;
  const std::string one = sha256_hex("one");
  const std::string two = sha256_hex("two");
  JobControl job;
  REQUIRE(write_wav(folder / "t.wav", random_pcm(50'000, 2), WavDepth::s16));
  const Result<PeakPyramid> first =
      PeakPyramid::load_or_build(folder / "t.wav", one, folder / "peaks", job);
  REQUIRE(first);
  REQUIRE(std::filesystem::exists(folder / "peaks"));
  const std::vector<Peak> due = *first->columns(2, FrameIndex(0), 1000.0, 50);

  // A job that stops at once shows that the kept figures are read and not made again.
  StopAt at_once(0);
  const Result<PeakPyramid> kept =
      PeakPyramid::load_or_build(folder / "t.wav", one, folder / "peaks", at_once);
  REQUIRE(kept);
  CHECK(*kept->columns(2, FrameIndex(0), 1000.0, 50) == due);

  // Another hash: made anew.
  CHECK(PeakPyramid::load_or_build(folder / "t.wav", two, folder / "peaks", at_once).error().code ==
        ErrorCode::cancelled);
  CHECK(PeakPyramid::load_or_build(folder / "t.wav", "short", folder / "peaks", job).error().code ==
        ErrorCode::bad_argument);
}

TEST_CASE("peak pyramid: a broken cache is built again, whichever byte is wrong", "[audio]") {
  const TempFolder folder;
  const std::string hash = sha256_hex("take");
  JobControl job;
  REQUIRE(write_wav(folder / "t.wav", random_pcm(3000, 1), WavDepth::s16));
  REQUIRE(PeakPyramid::load_or_build(folder / "t.wav", hash, folder / "peaks", job));
  const std::string good = *read_text_file(folder / "peaks", 1 << 20);
  const auto is_used = [&](const std::string& bytes) {
    REQUIRE(write_file_atomically(folder / "peaks", bytes));
    StopAt at_once(0);
    return PeakPyramid::load_or_build(folder / "t.wav", hash, folder / "peaks", at_once)
        .has_value();
  };
  CHECK(is_used(good));
  for (std::size_t at = 0; at < good.size(); at += 7) {
    std::string bad = good;
    bad[at] = static_cast<char>(bad[at] ^ 0x10);
    CHECK_FALSE(is_used(bad));
  }
  CHECK_FALSE(is_used(good.substr(0, good.size() / 2)));
  CHECK_FALSE(is_used(""));
  CHECK_FALSE(is_used(good + "x"));
  // And it is mended by the next call.
  REQUIRE(PeakPyramid::load_or_build(folder / "t.wav", hash, folder / "peaks", job));
  CHECK(*read_text_file(folder / "peaks", 1 << 20) == good);
}

TEST_CASE("peak pyramid: a cancelled build leaves no file", "[audio]") {
  const TempFolder folder;
  REQUIRE(write_wav(folder / "t.wav", random_pcm(200'000, 1), WavDepth::s16));
  for (const int blocks : {0, 1, 5}) {
    StopAt stop(blocks);
    CHECK(PeakPyramid::load_or_build(folder / "t.wav", sha256_hex("t"), folder / "peaks", stop)
              .error()
              .code == ErrorCode::cancelled);
    CHECK(files_in(folder) == 1);
  }
}

TEST_CASE("peak pyramid: a cache that cannot be written is no error", "[audio]") {
  const TempFolder folder;
  REQUIRE(write_wav(folder / "t.wav", random_pcm(2000, 1), WavDepth::s16));
  JobControl job;
  CHECK(PeakPyramid::load_or_build(folder / "t.wav", sha256_hex("t"),
                                   folder / "no" / "such" / "folder", job));
}

TEST_CASE("peak pyramid: the blocks grow so that their number stays within 2^21", "[audio]") {
  const TempFolder folder;
  // 64 channels by 16 777 216 frames of 8 bits, a hole of 1 GiB in the file.
  constexpr std::int64_t frames = 1 << 24;
  std::string head = "RIFF";
  little(head, 36 + frames * 64, 4);
  head += "WAVEfmt ";
  little(head, 16, 4);
  little(head, 1, 2);
  little(head, 64, 2);
  little(head, 48000, 4);
  little(head, std::uint64_t{48000} * 64, 4);
  little(head, 64, 2);
  little(head, 8, 2);
  head += "data";
  little(head, frames * 64, 4);
  put(folder / "wide.wav", head);
  std::filesystem::resize_file(folder / "wide.wav", head.size() + frames * 64);
  Result<SoundFileReader> reader = SoundFileReader::open(folder / "wide.wav");
  REQUIRE(reader);
  StopAt soon(3);
  CHECK(PeakPyramid::build(*reader, soon).error().code == ErrorCode::cancelled);
  CHECK(PeakPyramid::block_frames_for(reader->info().frames, 64) == 512);
  CHECK(PeakPyramid::block_frames_for(FrameCount(1), 1) == 256);
  CHECK(PeakPyramid::block_frames_for(FrameCount(std::int64_t{1} << 40), 1024) == std::int64_t{1}
                                                                                      << 29);
}
