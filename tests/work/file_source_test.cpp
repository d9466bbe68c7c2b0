// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/file_source.h"

#include "audio/audio_files.h"
#include "support/catch.h"
#include "support/same_track.h"
#include "support/synthetic_steam.h"
#include "support/temp_folder.h"

#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/work/tracked_take.h"

#include <algorithm>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::tests;
using work::FileSource;

namespace {

constexpr double rate_hz = 16000.0;

/// Beats in channel 2, the same softer and late in 3, another engine's in 1; samples of 16 bits.
audio::Pcm three_channels() {
  const auto steam_of = [](std::uint64_t seed, double beats_per_s) {
    SteamParams params;
    params.sample_rate_hz = rate_hz;
    params.seconds = 12.0;
    params.seed = seed;
    params.rate_hz = [=](double) { return beats_per_s; };
    return synthetic_steam(params).samples;
  };
  audio::Pcm pcm{rate_hz, {steam_of(3, 2.0), steam_of(4, 5.0), {}}};
  std::vector<float>& late = pcm.channels[2];
  late.assign(400, 0.0F);
  for (const float sample : pcm.channels[1])
    late.push_back(0.3F * sample);
  late.resize(pcm.channels[1].size());
  for (std::vector<float>& channel : pcm.channels)
    for (float& sample : channel)
      sample = std::round(std::clamp(sample, -1.0F, 0.999F) * 32768.0F) / 32768.0F;
  return pcm;
}

std::vector<float> mean_of(const audio::Pcm& pcm) {
  std::vector<float> mean;
  mean.reserve(pcm.channels[0].size());
  for (std::size_t i = 0; i < pcm.channels[0].size(); ++i)
    mean.push_back((pcm.channels[0][i] + pcm.channels[1][i] + pcm.channels[2][i]) * (1.0F / 3.0F));
  return mean;
}

std::vector<float> read_of(FileSource& source, std::int64_t from, std::int64_t to) {
  const Result<audio::MonoView> read = source.read(frame_range(from, to));
  INFO((read ? std::string() : to_line(read.error())));
  REQUIRE(read);
  return {read->begin(), read->end()};
}

std::vector<float> part_of(const std::vector<float>& samples, std::int64_t from, std::int64_t to) {
  return {samples.begin() + from, samples.begin() + to};
}

}  // namespace

TEST_CASE("file source: any stretch, forth and back, is the file's, and little is held", "[work]") {
  const TempFolder folder;
  const audio::Pcm pcm = three_channels();
  const std::vector<float> mean = mean_of(pcm);
  REQUIRE(audio::write_wav(folder / "take.wav", pcm, audio::WavDepth::s16));
  for (const std::int64_t block : {1, 7, 333, 16384}) {
    INFO("block of " << block);
    Result<FileSource> one =
        FileSource::open(folder / "take.wav", {2, 1.0, 11.0}, FrameCount(block));
    Result<FileSource> all = FileSource::open(folder / "take.wav", {}, FrameCount(block));
    REQUIRE(one);
    REQUIRE(all);
    CHECK(one->frames() == FrameCount(160'000));
    CHECK(one->range() == frame_range(16'000, 176'000));
    std::uint32_t state = 5;
    std::int64_t from = 0;
    for (int turn = 0; turn < 200; ++turn) {
      state = state * 1664525U + 1013904223U;
      // On by a little, now and then far off.
      from = turn % 20 == 0 ? state % 150'000
                            : std::max<std::int64_t>(0, from + (state >> 8U) % 2000 - 500);
      const std::int64_t to = std::min<std::int64_t>(160'000, from + (state >> 16U) % 3000);
      from = std::min(from, to);
      REQUIRE(read_of(*one, from, to) == part_of(pcm.channels[1], 16'000 + from, 16'000 + to));
      REQUIRE(read_of(*all, from, to) == part_of(mean, from, to));
      REQUIRE(one->held().value() <= 3000 + block + block / 4);
    }
    CHECK(read_of(*one, 159'999, 160'000) == part_of(pcm.channels[1], 175'999, 176'000));
    CHECK(one->read(frame_range(159'999, 160'001)).error().code == ErrorCode::bad_argument);
  }
}

TEST_CASE("file source: beats of a file are those of its samples in memory, bit by bit", "[work]") {
  const TempFolder folder;
  const audio::Pcm pcm = three_channels();
  REQUIRE(audio::write_wav(folder / "take.wav", pcm, audio::WavDepth::s16));
  write_by_libsndfile(folder / "take.flac", pcm, SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
  JobControl job;
  for (const std::optional<int> channel : {std::optional(2), std::optional<int>()}) {
    const std::vector<float> samples = channel ? pcm.channels[1] : mean_of(pcm);
    const Result<dsp::BeatTrack> memory = dsp::track_beats(samples, rate_hz, {}, job);
    REQUIRE(memory);
    REQUIRE(memory->beats.size() > 20);
    for (const char* name : {"take.wav", "take.flac"}) {
      for (const std::int64_t block : {999, 16384}) {
        INFO(name << ", block of " << block);
        Result<FileSource> source =
            FileSource::open(folder / name, {channel, {}, {}}, FrameCount(block));
        REQUIRE(source);
        const Result<dsp::BeatTrack> read = dsp::track_beats(*source, rate_hz, {}, job);
        REQUIRE(read);
        CHECK(same_track(*read, *memory));
      }
    }
  }
  const Result<int> surest = work::surest_channel(folder / "take.flac", {}, {}, job);
  REQUIRE(surest);
  CHECK(*surest == 2);
}

TEST_CASE("file source: a file that ends before its time is told, and read again when it is whole",
          "[work]") {
  const TempFolder folder;
  const std::filesystem::path file = folder / "take.wav";
  REQUIRE(audio::write_wav(file, three_channels(), audio::WavDepth::s16));
  Result<FileSource> source = FileSource::open(file, {});
  REQUIRE(source);
  REQUIRE(source->read(frame_range(0, 10)));
  const std::uintmax_t whole = std::filesystem::file_size(file);
  std::filesystem::resize_file(file, whole / 2);
  const Result<audio::MonoView> cut = source->read(frame_range(150'000, 150'100));
  REQUIRE_FALSE(cut);
  CHECK(cut.error().code == ErrorCode::truncated);
  CHECK(cut.error().file == file.string());
  JobControl job;
  const Result<dsp::BeatTrack> track = dsp::track_beats(*source, rate_hz, {}, job);
  REQUIRE_FALSE(track);
  CHECK(track.error().code == ErrorCode::truncated);
}
