// SPDX-License-Identifier: GPL-3.0-or-later
#include "worst_of.h"

#include "fourbeat/base/random.h"
#include "fourbeat/dsp/fft.h"
#include "fourbeat/dsp/loop_finder.h"

#include <benchmark/benchmark.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <vector>

/// Two channels at 48 kHz, searched for their ten best loops, seams measured; beside it the floor:
/// what the transforms of one plain autocorrelation of the same material take.

namespace {

using namespace fourbeat;

constexpr double rate_hz = 48000.0;

/// Steam that hisses on: dull noise whose level wanders by some dB, with a pump's strokes behind.
audio::Pcm steam(double seconds) {
  const auto frames = static_cast<std::size_t>(seconds * rate_hz);
  audio::Pcm pcm{rate_hz, {}};
  for (std::uint64_t c = 0; c < 2; ++c) {
    Random random(7 + c);
    std::vector<float> samples(frames);
    double y = 0.0;
    double level = 1.0;
    double aim = 1.0;
    for (std::size_t i = 0; i < frames; ++i) {
      if (i % 24000 == 0) aim = random.uniform(0.7, 1.4);
      level += 2e-5 * (aim - level);
      y += 0.3 * (0.1 * random.normal() - y);
      const double since_s = std::fmod(static_cast<double>(i) / rate_hz, 0.81);
      const double stroke = since_s < 0.3 ? 0.5 * (1.0 - since_s / 0.3) : 0.0;
      samples[i] = static_cast<float>(y * (level + stroke));
    }
    pcm.channels.push_back(std::move(samples));
  }
  return pcm;
}

void find_ten_loops(benchmark::State& state) {
  const audio::Pcm material = steam(static_cast<double>(state.range(0)));
  JobControl job;
  std::size_t loops = 0;
  std::size_t clean = 0;
  for (auto _ : state) {
    dsp::LoopParams params;
    params.count = 10;
    const auto search = dsp::find_loops(material, params, job);
    loops = search ? search->candidates.size() : 0;
    clean = 0;
    for (std::size_t i = 0; i < loops; ++i)
      clean += search->candidates[i].seam.state == dsp::SeamState::clean ? 1U : 0U;
    benchmark::DoNotOptimize(loops);
  }
  if (clean == 0) state.SkipWithError("no clean loop was found");
  state.counters["loops"] = static_cast<double>(loops);
  state.counters["clean"] = static_cast<double>(clean);
}

void floor_of_60_s(benchmark::State& state) {
  const audio::Pcm material = steam(60.0);
  const std::size_t frames = material.channels.front().size();
  const dsp::RealFft fft(dsp::good_fft_size(2 * frames));
  std::vector<float> padded(fft.size());
  std::vector<std::complex<float>> bins(fft.size() / 2 + 1);
  for (auto _ : state) {
    for (const std::vector<float>& channel : material.channels) {
      std::fill(padded.begin(), padded.end(), 0.0F);
      std::copy(channel.begin(), channel.end(), padded.begin());
      fft.forward(padded, bins);
      fft.inverse(bins, padded);
      benchmark::DoNotOptimize(padded.data());
    }
  }
}

}  // namespace

BENCHMARK(find_ten_loops)
    ->Name("loops/ten_best")
    ->Arg(60)
    ->Unit(benchmark::kMillisecond)
    ->Repetitions(5)
    ->ReportAggregatesOnly()
    ->ComputeStatistics("worst", fourbeat::tests::worst_of);
BENCHMARK(floor_of_60_s)
    ->Name("loops/floor_fft_forward_and_inverse")
    ->Unit(benchmark::kMillisecond)
    ->Repetitions(5)
    ->ReportAggregatesOnly()
    ->ComputeStatistics("worst", fourbeat::tests::worst_of);
/// Growth: at most fifteenfold for ten times the material.
BENCHMARK(find_ten_loops)
    ->Name("loops/growth_s")
    ->Arg(5)
    ->Arg(50)
    ->Arg(500)
    ->Iterations(1)
    ->Unit(benchmark::kMillisecond);
