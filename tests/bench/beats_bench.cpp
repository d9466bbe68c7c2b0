// SPDX-License-Identifier: GPL-3.0-or-later
#include "heap_peak.h"
#include "support/synthetic_steam.h"
#include "worst_of.h"

#include "fourbeat/dsp/beat_tracker.h"

#include <aubio/aubio.h>
#include <benchmark/benchmark.h>

#include <algorithm>
#include <vector>

/// Ten minutes of one channel at 48 kHz, memory to memory.

namespace {

using namespace fourbeat;
using fourbeat::tests::HeapPeak;

const std::vector<float>& ten_minutes() {
  static const std::vector<float> samples = [] {
    tests::SteamParams params;
    params.seconds = 600.0;
    params.seed = 5;
    params.room = 0.5;
    params.angles_deg = {0.0, 87.0, 182.0, 273.0};
    params.levels_db = {0.0, -2.0, -1.0, -3.0};
    params.rate_hz = [](double time_s) {
      const double lap_s = time_s - 120.0 * static_cast<double>(static_cast<int>(time_s / 120.0));
      return lap_s < 5.0 ? 0.0 : std::clamp(0.15 * (lap_s - 5.0), 0.4, 12.0);
    };
    return tests::synthetic_steam(params).samples;
  }();
  return samples;
}

void track_beats(benchmark::State& state) {
  const std::vector<float>& samples = ten_minutes();
  JobControl job;
  std::size_t beats = 0;
  for (auto _ : state) {
    const auto track = dsp::track_beats(samples, 48000.0, {}, job);
    beats = track ? track->beats.size() : 0;
    benchmark::DoNotOptimize(beats);
  }
  if (beats < 1000) state.SkipWithError("the beats were not found");
  state.counters["beats"] = static_cast<double>(beats);
}

/// The peer does less: onsets one by one, no beat rate, no octave, no refinement.
void aubio_complex_onsets(benchmark::State& state) {
  constexpr uint_t window = 1024;
  constexpr uint_t hop = 512;
  const std::vector<float>& samples = ten_minutes();
  std::size_t onsets = 0;
  for (auto _ : state) {
    aubio_onset_t* detector = new_aubio_onset("complex", window, hop, 48000);
    fvec_t* in = new_fvec(hop);
    fvec_t* out = new_fvec(1);
    onsets = 0;
    for (std::size_t at = 0; at + hop <= samples.size(); at += hop) {
      std::copy_n(samples.data() + at, hop, in->data);
      aubio_onset_do(detector, in, out);
      if (out->data[0] != 0.0F) ++onsets;
    }
    benchmark::DoNotOptimize(onsets);
    del_fvec(in);
    del_fvec(out);
    del_aubio_onset(detector);
  }
  state.counters["onsets"] = static_cast<double>(onsets);
}

/// Minutes of the same sound, again and again. Seconds a minute and peak bytes a frame must stay
/// the same whatever the length.
void track_minutes(benchmark::State& state) {
  const auto frames = static_cast<std::size_t>(state.range(0)) * 60 * 48000;
  std::vector<float> samples(frames);
  for (std::size_t i = 0; i < frames; ++i)
    samples[i] = ten_minutes()[i % ten_minutes().size()];
  JobControl job;
  HeapPeak peak;
  for (auto _ : state) {
    const auto track = dsp::track_beats(samples, 48000.0, {}, job);
    if (!track || track->beats.empty()) state.SkipWithError("the beats were not found");
  }
  const auto minutes = static_cast<double>(state.range(0));
  state.counters["heap_bytes_per_frame"] =
      static_cast<double>(peak.bytes()) / static_cast<double>(frames);
  state.counters["minutes_per_s"] =
      benchmark::Counter(minutes, benchmark::Counter::kIsIterationInvariantRate);
}

}  // namespace

BENCHMARK(track_beats)
    ->Name("beats/fourbeat")
    ->Unit(benchmark::kMillisecond)
    ->Repetitions(5)
    ->ReportAggregatesOnly()
    ->ComputeStatistics("worst", fourbeat::tests::worst_of);
BENCHMARK(aubio_complex_onsets)
    ->Name("beats/aubio_complex_onsets_only")
    ->Unit(benchmark::kMillisecond)
    ->Repetitions(5)
    ->ReportAggregatesOnly()
    ->ComputeStatistics("worst", fourbeat::tests::worst_of);
BENCHMARK(track_minutes)
    ->Name("beats/minutes")
    ->Arg(1)
    ->Arg(10)
    ->Arg(60)
    ->Arg(120)
    ->Iterations(1)
    ->Unit(benchmark::kMillisecond);
