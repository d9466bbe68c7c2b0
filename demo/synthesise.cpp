// SPDX-License-Identifier: GPL-3.0-or-later
#include "takes.h"

#include <algorithm>
#include <atomic>
#include <new>
#include <thread>

namespace fourbeat::demo {

model::Engine demo_engine() {
  model::Engine engine;
  engine.name = "Quillenhaw Light Railway No. 6 “Ambrel”";
  engine.driver_diameter_mm = 1320.0;
  engine.beats_per_rev = 4;
  engine.beat_angles_deg = {0.0, 93.0, 178.5, 271.5};
  engine.top_speed_kmh = 70.0;
  return engine;
}

Result<std::vector<SynthTake>> synthesise_takes(std::uint64_t seed, JobControl& job) {
  std::vector<SynthTake> takes(take_recipes.size());
  std::atomic<std::size_t> next{0};
  std::atomic<bool> stop{false};
  std::atomic<bool> no_memory{false};
  const auto make = [&](std::size_t k) {
    try {
      takes[k] = take_recipes[k](seed);
    } catch (const std::bad_alloc&) {
      no_memory.store(true);
      stop.store(true);
    }
  };
  const auto work = [&] {
    while (!stop.load()) {
      const std::size_t k = next.fetch_add(1);
      if (k >= take_recipes.size()) return;
      make(k);
    }
  };
  // This thread tells the progress and hears of a cancel between its own takes.
  std::vector<std::thread> helpers;
  const unsigned cores = std::clamp(std::thread::hardware_concurrency(), 1U, 8U);
  for (unsigned k = 1; k < cores; ++k)
    helpers.emplace_back(work);
  while (!stop.load()) {
    if (job.cancelled()) stop.store(true);
    const std::size_t k = next.fetch_add(1);
    if (stop.load() || k >= take_recipes.size()) break;
    job.progress(static_cast<double>(k) / static_cast<double>(take_recipes.size()),
                 "synthesising takes");
    make(k);
  }
  for (std::thread& helper : helpers)
    helper.join();
  if (no_memory.load()) {
    return Error{ErrorCode::internal, "", "", "out of memory while synthesising takes",
                 "Close other programs and try again."};
  }
  if (stop.load()) return Error{ErrorCode::cancelled, "", "", "", ""};
  job.progress(1.0, "synthesising takes");
  return takes;
}

}  // namespace fourbeat::demo
