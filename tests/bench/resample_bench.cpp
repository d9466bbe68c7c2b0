// SPDX-License-Identifier: GPL-3.0-or-later
// Our resampling beside bare libsoxr with the same settings: the difference is what our checks,
// the rounding to soxr's own precision and the copies cost. The peer does less: it neither checks
// for NaN nor rounds.
#include "fourbeat/audio/resample.h"
#include "fourbeat/base/random.h"

#include <benchmark/benchmark.h>
#include <soxr.h>

#include <cmath>
#include <cstdlib>
#include <vector>

namespace {

constexpr double from_hz = 48000.0;
constexpr double to_hz = 22050.0;

std::vector<float> ten_seconds() {
  fourbeat::Random random(1);
  std::vector<float> samples(480'000);
  for (float& sample : samples)
    sample = static_cast<float>(random.uniform(-0.5, 0.5));
  return samples;
}

void resample_ours(benchmark::State& state) {
  const std::vector<float> samples = ten_seconds();
  for (auto _ : state) {
    auto out = fourbeat::audio::resample(samples, from_hz, to_hz);
    if (!out) std::abort();
    benchmark::DoNotOptimize(out->data());
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(samples.size()));
}
BENCHMARK(resample_ours)->Unit(benchmark::kMillisecond);

void resample_bare_soxr(benchmark::State& state) {
  const std::vector<float> samples = ten_seconds();
  const soxr_io_spec_t io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
  const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_VHQ, 0);
  const soxr_runtime_spec_t runtime = soxr_runtime_spec(1);
  for (auto _ : state) {
    std::vector<float> out(220'500);
    std::size_t made = 0;
    if (soxr_oneshot(from_hz, to_hz, 1, samples.data(), samples.size(), nullptr, out.data(),
                     out.size(), &made, &io, &quality, &runtime) != nullptr) {
      std::abort();
    }
    benchmark::DoNotOptimize(out.data());
  }
  state.SetItemsProcessed(state.iterations() * static_cast<std::int64_t>(samples.size()));
}
BENCHMARK(resample_bare_soxr)->Unit(benchmark::kMillisecond);

}  // namespace
