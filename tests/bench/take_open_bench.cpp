// SPDX-License-Identifier: GPL-3.0-or-later
// Opening and reading a take beside bare libsndfile. The peer does less: it looks at no chunk list
// of its own, and leaves the samples interleaved. Below them what the whole report costs.
#include "support/temp_folder.h"

#include "fourbeat/audio/peak_pyramid.h"
#include "fourbeat/audio/sound_file.h"
#include "fourbeat/audio/take_report.h"
#include "fourbeat/base/random.h"

#include <benchmark/benchmark.h>
#include <sndfile.h>

#include <cstdlib>
#include <vector>

namespace {

using namespace fourbeat;
using namespace fourbeat::audio;

constexpr std::int64_t frames = 2'880'000;
constexpr int channels = 4;
constexpr std::int64_t block_frames = 1 << 14;

/// One minute of four channels at 24 bits.
const std::filesystem::path& take() {
  static const tests::TempFolder folder;
  static const std::filesystem::path path = [] {
    Random random(1);
    Pcm pcm{48000.0, {}};
    for (int c = 0; c < channels; ++c) {
      std::vector<float> samples(static_cast<std::size_t>(frames));
      for (float& sample : samples)
        sample = static_cast<float>(random.uniform(-0.5, 0.5));
      pcm.channels.push_back(std::move(samples));
    }
    if (!write_wav(folder / "take.wav", pcm, WavDepth::s24)) std::abort();
    return folder / "take.wav";
  }();
  return path;
}

void open_ours(benchmark::State& state) {
  for (auto _ : state) {
    auto reader = SoundFileReader::open(take());
    if (!reader) std::abort();
    benchmark::DoNotOptimize(reader->info().frames);
  }
}
BENCHMARK(open_ours)->Unit(benchmark::kMicrosecond);

void open_bare_libsndfile(benchmark::State& state) {
  for (auto _ : state) {
    SF_INFO info{};
    SNDFILE* file = sf_open(take().c_str(), SFM_READ, &info);
    if (file == nullptr) std::abort();
    benchmark::DoNotOptimize(info.frames);
    sf_close(file);
  }
}
BENCHMARK(open_bare_libsndfile)->Unit(benchmark::kMicrosecond);

void read_ours(benchmark::State& state) {
  JobControl job;
  for (auto _ : state) {
    auto reader = SoundFileReader::open(take());
    if (!reader) std::abort();
    const auto sink = [](const Pcm& block, FrameIndex) {
      benchmark::DoNotOptimize(block.channels.front().data());
      return ok();
    };
    if (!reader->read_blocks(frame_range(0, frames), FrameCount(block_frames), sink, job)) {
      std::abort();
    }
  }
  state.SetItemsProcessed(state.iterations() * frames * channels);
}
BENCHMARK(read_ours)->Unit(benchmark::kMillisecond);

void read_bare_libsndfile(benchmark::State& state) {
  std::vector<float> block(static_cast<std::size_t>(block_frames * channels));
  for (auto _ : state) {
    SF_INFO info{};
    SNDFILE* file = sf_open(take().c_str(), SFM_READ, &info);
    if (file == nullptr) std::abort();
    while (sf_readf_float(file, block.data(), block_frames) > 0)
      benchmark::DoNotOptimize(block.data());
    sf_close(file);
  }
  state.SetItemsProcessed(state.iterations() * frames * channels);
}
BENCHMARK(read_bare_libsndfile)->Unit(benchmark::kMillisecond);

void report_take_whole(benchmark::State& state) {
  JobControl job;
  for (auto _ : state) {
    auto report = report_take(take(), job);
    if (!report) std::abort();
    benchmark::DoNotOptimize(report->channels.data());
  }
  state.SetItemsProcessed(state.iterations() * frames * channels);
}
BENCHMARK(report_take_whole)->Unit(benchmark::kMillisecond);

void peak_pyramid_whole(benchmark::State& state) {
  JobControl job;
  for (auto _ : state) {
    auto reader = SoundFileReader::open(take());
    auto pyramid = PeakPyramid::build(*reader, job);
    if (!pyramid) std::abort();
    benchmark::DoNotOptimize(pyramid->frames());
  }
  state.SetItemsProcessed(state.iterations() * frames * channels);
}
BENCHMARK(peak_pyramid_whole)->Unit(benchmark::kMillisecond);

}  // namespace
