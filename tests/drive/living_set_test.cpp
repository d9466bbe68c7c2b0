// SPDX-License-Identifier: GPL-3.0-or-later
#include "living_twin.h"
#include "support/catch.h"
#include "support/realtime_guard.h"

#include "fourbeat/base/random.h"
#include "fourbeat/drive/engine.h"

#include <set>

using namespace fourbeat;
using namespace fourbeat::tests;
using namespace fourbeat::model;
using drive::EventKind;

namespace {

/// Anything a driver can do, at random.
RunCard random_card(std::uint64_t seed, double seconds) {
  Random random(seed);
  RunCard card = card_of(seconds, {});
  card.seed = seed;
  for (double at = 0.0; at < seconds; at += random.uniform(0.01, 0.9)) {
    switch (random.below(12)) {
      case 0:
        card.moves.push_back(direction(at, random.uniform() < 0.5));
        break;
      case 1:
        card.moves.push_back(
            {at, MoveCv{random.uniform() < 0.5 ? 120 : 121, static_cast<int>(random.below(256))}});
        break;
      case 2:
        card.moves.push_back({at, MoveLoad{random.uniform()}});
        break;
      case 3:
        card.moves.push_back({at, MoveGradient{random.uniform(-3.0, 3.0)}});
        break;
      case 4:
        if (random.uniform() < 0.1) card.moves.push_back({at, MoveStop{}});
        break;
      case 5:
        card.moves.push_back({at, MovePower{random.uniform() < 0.9}});
        break;
      case 6:
      case 7:
        card.moves.push_back(throttle(at, static_cast<int>(random.below(127))));
        break;
      default:
        card.moves.push_back(key(at, static_cast<int>(random.below(13)), random.uniform() < 0.5));
        break;
    }
  }
  return card;
}

}  // namespace

TEST_CASE("living set: however a drive is cut into blocks, samples and events are the same",
          "[drive]") {
  const auto set = everything_twin().compile();
  const RunCard card = random_card(11, 40.0);
  drive::DriveOptions options;
  options.stems = true;
  const auto whole = drive_well(set, card, options);
  CHECK(whole.events.size() > 500);
  CHECK(events_of(whole, EventKind::effort).size() > 2);
  CHECK(events_of(whole, EventKind::own_state).size() > 1);
  for (const int block : {1, 64, 221, 4096}) {
    INFO("block " << block);
    options.block_frames = block;
    const auto cut = drive_well(set, card, options);
    CHECK((cut.mix == whole.mix));
    CHECK((cut.stems == whole.stems));
    CHECK((cut.events == whole.events));
  }
  options.render = false;
  options.stems = false;
  const auto silent = drive_well(set, card, options);
  CHECK((silent.events == whole.events));
}

TEST_CASE("living set: the mix is the sum of its stems, each of them heard", "[drive]") {
  drive::DriveOptions options;
  options.stems = true;
  const auto output = drive_well(everything_twin().compile(), random_card(12, 60.0), options);
  REQUIRE(output.stems.size() == 4);
  for (std::size_t i = 0; i < output.mix.size(); ++i) {
    const float sum = output.stems.at("chuffs")[i] + output.stems.at("layers")[i] +
                      output.stems.at("keys")[i] + output.stems.at("beds")[i];
    if (output.mix[i] != sum) REQUIRE(output.mix[i] == sum);
  }
  for (const auto& [name, samples] : output.stems) {
    INFO(name);
    CHECK(sounding_frames(samples).size() > 1000);
  }
}

TEST_CASE(
    "living set: of sines that rise and fall by themselves, stops, steals, gains, hand-overs "
    "and row changes bend nothing",
    "[drive]") {
  const LivingTwin twin = everything_twin();
  for (const std::uint64_t seed : {21U, 22U, 23U}) {
    INFO("seed " << seed);
    const auto output = drive_well(twin.compile(), random_card(seed, 60.0));
    CHECK(output.voices_peak == twin.profile.voices);
    CHECK(output.voices_wanted_peak > twin.profile.voices);
    // Four voices and as many fades at most.
    CHECK(largest_bend(output.mix) <= 4.0 * twin.profile.voices * steady_bend());
  }
}

TEST_CASE("living set: rendering allocates nothing and locks nothing, whatever the driver does",
          "[drive]") {
  auto engine = drive::Engine::create(everything_twin().compile(), {});
  REQUIRE(engine);
  const RunCard card = random_card(31, 60.0);
  std::vector<float> mix(221);
  std::vector<std::vector<float>> stems(drive::stem_count, std::vector<float>(221));
  drive::EngineEvent event;
  std::size_t next = 0;
  long calls = 0;
  while ((*engine)->frame() < 60L * twin_rate_hz) {
    for (; next < card.moves.size() &&
           card.moves[next].time_s * twin_rate_hz < static_cast<double>((*engine)->frame() + 221);
         ++next) {
      drive::Command command;
      command.frame = std::llround(card.moves[next].time_s * twin_rate_hz);
      if (const auto* key = std::get_if<MoveKey>(&card.moves[next].what)) {
        command.kind = drive::CommandKind::key;
        command.number = key->key;
        command.value = key->on ? 1 : 0;
      } else if (const auto* throttle = std::get_if<MoveThrottle>(&card.moves[next].what)) {
        command.value = throttle->step;
      } else if (const auto* power = std::get_if<MovePower>(&card.moves[next].what)) {
        command.kind = drive::CommandKind::power;
        command.value = power->on ? 1 : 0;
      } else if (const auto* cv = std::get_if<MoveCv>(&card.moves[next].what)) {
        command.kind = drive::CommandKind::cv;
        command.number = cv->cv;
        command.value = cv->value;
      }
      REQUIRE((*engine)->push(command));
    }
    {
      const RealtimeGuard guard;
      (*engine)->render(mix, {stems[0], stems[1], stems[2], stems[3]});
      calls += RealtimeGuard::calls();
    }
    while ((*engine)->pop(event)) {
    }
  }
  CHECK(calls == 0);
  CHECK((*engine)->events_lost() == 0);
}

TEST_CASE("living set: an hour of random keys and moves", "[drive][deep]") {
  const auto set = everything_twin().compile();
  drive::DriveOptions options;
  options.render = false;
  const auto output = drive_well(set, random_card(41, 3600.0), options);
  CHECK(output.voices_peak <= 4);
  CHECK(events_of(output, EventKind::gauges).size() > 3000);
  std::int64_t frame = 0;
  for (const drive::Event& event : output.events) {
    REQUIRE(event.frame >= frame);
    frame = event.frame;
  }
  // Every voice that starts ends, and never two sounds in one voice.
  std::set<int> sounding;
  for (const drive::Event& event : output.events) {
    if (event.number < 0) continue;
    if (event.kind == EventKind::voice_start) REQUIRE(sounding.insert(event.number).second);
    if (event.kind == EventKind::voice_end) REQUIRE(sounding.erase(event.number) == 1);
  }
  CHECK(sounding.empty());
}
