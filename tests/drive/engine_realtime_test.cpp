// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/realtime_guard.h"
#include "twin_set.h"

#include "fourbeat/base/random.h"
#include "fourbeat/drive/engine.h"

#include <atomic>
#include <cstdlib>
#include <mutex>
#include <thread>

using namespace fourbeat;
using namespace fourbeat::tests;
using drive::Command;
using drive::CommandKind;
using drive::Engine;
using drive::EngineEvent;

namespace {

TwinSet busy_twin() {
  TwinSet twin;
  twin.profile.voices = 5;
  twin.set_cv(3, 4);
  twin.set_cv(4, 4);
  twin.add_row(0, 40, model::Effort::hard, 2, sine(6000, true, true));
  twin.add_row(0, 100, model::Effort::easy, 1, sine(3000, true, true));
  for (int number = 0; number < 8; ++number) {
    twin.add_key(number,
                 twin.add_shot(clip_of(sine(3000L * (1 + number), true, true)), 10 * number));
    twin.add_key(number, twin.add_held(twin.add_segment(clip_of(sine(2000, true, false))),
                                       twin.add_segment(sine_hold(0.3)),
                                       twin.add_segment(clip_of(sine(3000, false, true)))));
  }
  return twin;
}

Command random_command(Random& random, std::int64_t frame) {
  Command command;
  command.frame = frame;
  const double pick = random.uniform();
  if (pick < 0.8) {
    command.kind = CommandKind::key;
    command.number = static_cast<int>(random.below(8));
    command.value = random.uniform() < 0.5 ? 1 : 0;
  } else if (pick < 0.9) {
    command.value = static_cast<int>(random.below(127));
  } else if (pick < 0.95) {
    command.kind = CommandKind::direction;
    command.value = random.uniform() < 0.5 ? 1 : 0;
  } else {
    command.kind = CommandKind::cv;
    command.number = 3;
    command.value = static_cast<int>(random.below(30));
  }
  return command;
}

std::unique_ptr<Engine> engine_of(const TwinSet& twin, const drive::EngineOptions& options = {}) {
  auto engine = Engine::create(twin.compile(), options);
  REQUIRE(engine.has_value());
  return *std::move(engine);
}

}  // namespace

TEST_CASE("real time: the guard catches what an audio thread must not do", "[drive]") {
  std::mutex mutex;
  long calls = 0;
  {
    const RealtimeGuard guard;
    int* volatile made = new int[100];
    delete[] made;
    calls = RealtimeGuard::calls();
  }
  CHECK(calls == 2);
  {
    const RealtimeGuard guard;
    void* volatile memory = std::malloc(100);
    std::free(memory);
    calls = RealtimeGuard::calls();
  }
  CHECK(calls == 2);
  if (!RealtimeGuard::watches_everything()) return;
  {
    const RealtimeGuard guard;
    const std::lock_guard<std::mutex> lock(mutex);
    calls = RealtimeGuard::calls();
  }
  CHECK(calls == 1);
}

TEST_CASE("real time: render allocates nothing and locks nothing for a minute of random keys",
          "[drive]") {
  const auto engine = engine_of(busy_twin());
  Random random(5);
  std::vector<float> mix(441);
  std::vector<float> chuffs(441);
  std::vector<float> keys(441);
  EngineEvent event;
  long calls = 0;
  long events = 0;
  double loudest = 0.0;
  for (int block = 0; block < 6000; ++block) {
    for (int i = 0; i < 3; ++i) {
      if (random.uniform() < 0.3) {
        engine->push(random_command(random, engine->frame() + 100L * i));
      }
    }
    {
      const RealtimeGuard guard;
      engine->render(mix, {chuffs, keys});
      calls += RealtimeGuard::calls();
    }
    while (engine->pop(event))
      ++events;
    for (const float sample : mix)
      loudest = std::max(loudest, std::abs(static_cast<double>(sample)));
  }
  CHECK(calls == 0);
  CHECK(events > 5000);
  CHECK(loudest > twin_amplitude);
  CHECK(engine->voices_peak() == 5);
  CHECK(engine->events_lost() == 0);
  CHECK(engine->commands_lost() == 0);
}

TEST_CASE("engine: full queues and commands out of range are counted, never waited for",
          "[drive]") {
  drive::EngineOptions options;
  options.command_capacity = 4;
  options.event_capacity = 8;
  const auto engine = engine_of(busy_twin(), options);
  for (int i = 0; i < 4; ++i)
    CHECK(engine->push({0, CommandKind::key, i, 1, 0.0}));
  CHECK_FALSE(engine->push({0, CommandKind::key, 5, 1, 0.0}));
  CHECK(engine->commands_lost() == 1);
  std::vector<float> mix(64);
  engine->render(mix);
  CHECK(engine->events_lost() > 0);
  CHECK(engine->push({0, CommandKind::key, 69, 1, 0.0}));
  CHECK(engine->push({0, CommandKind::throttle_step, 0, 127, 0.0}));
  CHECK(engine->push({0, CommandKind::load, 0, 0, -1.0}));
  engine->render({});
  CHECK(engine->commands_lost() == 4);
  CHECK(engine->frame() == 64);
}

TEST_CASE("engine: a late command acts at once", "[drive]") {
  TwinSet twin;
  twin.add_key(1, twin.add_shot(clip_of({0.5F, 0.25F})));
  const auto engine = engine_of(twin);
  std::vector<float> mix(100);
  engine->render(mix);
  engine->push({3, CommandKind::key, 1, 1, 0.0});
  engine->render(mix);
  CHECK(mix[0] == 0.5F);
  CHECK(mix[1] == 0.25F);
}

TEST_CASE("engine: options out of range are refused", "[drive]") {
  const auto set = TwinSet().compile();
  drive::EngineOptions options;
  options.speed_steps = 27;
  CHECK_FALSE(Engine::create(set, options).has_value());
  options.speed_steps = 28;
  options.voice_limit = 257;
  CHECK_FALSE(Engine::create(set, options).has_value());
  CHECK_FALSE(Engine::create(nullptr, {}).has_value());
}

TEST_CASE("engine: one thread drives while another renders", "[drive]") {
  const auto engine = engine_of(busy_twin());
  std::atomic<bool> stop{false};
  std::thread audio([&] {
    std::vector<float> mix(221);
    while (!stop.load())
      engine->render(mix);
  });
  Random random(9);
  long events = 0;
  EngineEvent event;
  for (int i = 0; i < 2000; ++i) {
    engine->push(random_command(random, 0));
    while (engine->pop(event))
      ++events;
    if (i % 50 == 0) std::this_thread::yield();
  }
  while (events < 500) {
    while (engine->pop(event))
      ++events;
  }
  stop.store(true);
  audio.join();
  CHECK(events >= 500);
}
