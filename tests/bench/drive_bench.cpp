// SPDX-License-Identifier: GPL-3.0-or-later
#include "drive/living_twin.h"

#include "fourbeat/base/random.h"
#include "fourbeat/drive/engine.h"

#include <benchmark/benchmark.h>
#include <time.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <vector>

/// Eleven voices at 44.1 kHz: how many times faster than real time a set is driven offline, beside
/// the floor of moving as many samples; and what one block of the callback takes.

namespace {

using namespace fourbeat;

constexpr int voices = 11;

/// Everything that lives, chuffs under way, and as many held sounds as fill the voices.
std::shared_ptr<const drive::CompiledSet> full_set() {
  tests::LivingTwin twin = tests::everything_twin();
  twin.profile.voices = voices;
  for (int i = 0; i < voices; ++i)
    twin.add_key(20 + i % 9, twin.add_tone(80));
  auto set = drive::compile(twin.project, twin.profile, twin.sounds);
  return set ? *set : nullptr;
}

std::unique_ptr<drive::Engine> engine_under_way() {
  drive::EngineOptions options;
  options.event_capacity = 1U << 18U;
  auto engine = drive::Engine::create(full_set(), options);
  if (!engine) return nullptr;
  (*engine)->push({0, drive::CommandKind::throttle_step, 0, 90, 0.0});
  for (int number = 20; number < 29; ++number)
    (*engine)->push({0, drive::CommandKind::key, number, 1, 0.0});
  return *std::move(engine);
}

void drain(drive::Engine& engine) {
  drive::EngineEvent event;
  while (engine.pop(event))
    benchmark::DoNotOptimize(event);
}

void drive_offline(benchmark::State& state) {
  const auto engine = engine_under_way();
  std::vector<float> mix(tests::twin_rate_hz);  // a second
  for (auto _ : state) {
    engine->render(mix);
    drain(*engine);
    benchmark::DoNotOptimize(mix.data());
  }
  if (engine->voices_peak() != voices) state.SkipWithError("not every voice sounds");
  state.counters["times_real"] =
      benchmark::Counter(1.0, benchmark::Counter::kIsIterationInvariantRate);
}

void copy_floor(benchmark::State& state) {
  std::vector<float> from(static_cast<std::size_t>(tests::twin_rate_hz) * voices, 0.5F);
  std::vector<float> to(from.size());
  for (auto _ : state) {
    std::memcpy(to.data(), from.data(), from.size() * sizeof(float));
    benchmark::DoNotOptimize(to.data());
    benchmark::ClobberMemory();
  }
  state.counters["times_real"] =
      benchmark::Counter(1.0, benchmark::Counter::kIsIterationInvariantRate);
}

double processor_s() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + 1e-9 * static_cast<double>(now.tv_nsec);
}

/// Ten minutes in blocks of 221 frames, keys and throttle moved at random.
void callback_blocks(benchmark::State& state) {
  constexpr int block_frames = 221;
  constexpr double period_s = static_cast<double>(block_frames) / tests::twin_rate_hz;
  std::vector<double> shares;
  for (auto _ : state) {
    const auto engine = engine_under_way();
    Random random(3);
    std::vector<float> mix(block_frames);
    const auto blocks = static_cast<std::size_t>(600.0 / period_s);
    shares.reserve(blocks);
    for (std::size_t i = 0; i < blocks; ++i) {
      if (random.uniform() < 0.01) {
        engine->push({0, drive::CommandKind::key, static_cast<int>(random.below(29)),
                      random.uniform() < 0.5 ? 1 : 0, 0.0});
      }
      if (random.uniform() < 0.001) {
        engine->push(
            {0, drive::CommandKind::throttle_step, 0, static_cast<int>(random.below(127)), 0.0});
      }
      const double start_s = processor_s();
      engine->render(mix);
      shares.push_back((processor_s() - start_s) / period_s);
      drain(*engine);
    }
  }
  std::sort(shares.begin(), shares.end());
  const auto at = [&](double share) {
    return shares[static_cast<std::size_t>(share * static_cast<double>(shares.size() - 1))];
  };
  state.counters["median"] = at(0.5);
  state.counters["p99.99"] = at(0.9999);
  state.counters["worst"] = shares.back();
}

}  // namespace

BENCHMARK(drive_offline)->Name("drive/eleven_voices")->Unit(benchmark::kMicrosecond);
BENCHMARK(copy_floor)->Name("drive/copy_floor")->Unit(benchmark::kMicrosecond);
BENCHMARK(callback_blocks)
    ->Name("drive/callback_share_of_period")
    ->Iterations(1)
    ->Unit(benchmark::kMillisecond);
