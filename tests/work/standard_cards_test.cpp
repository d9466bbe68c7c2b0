// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/standard_cards.h"

#include "support/catch.h"

#include "fourbeat/drive/drive.h"

#include <map>
#include <set>

using namespace fourbeat;
using namespace fourbeat::model;
using drive::EventKind;

namespace {

template <class T>
Id<T> add(Project& project, std::vector<T>& list, T value) {
  value.id = Id<T>(project.next_id++);
  list.push_back(std::move(value));
  return list.back().id;
}

/// A set of keys without sounds: what it does can be driven all the same.
Project keys_only(bool coasts) {
  Project project;
  project.driving.coasts_until_braked = coasts;
  for (const int number : {3, 4}) {
    Cv cv;
    cv.number = number;
    cv.value = number == 3 ? 12 : 9;
    add(project, project.cvs, cv);
  }
  Sound held;
  held.kind = SoundKind::held;
  const Id<Sound> sound = add(project, project.sounds, held);
  Key whistle;
  whistle.number = 2;
  whistle.sound = sound;
  whistle.by_speed = {{20.0, sound, {}}, {50.0, sound, {}}, {200.0, sound, {}}};
  add(project, project.keys, whistle);
  Key bell;
  bell.number = 1;
  bell.sound = sound;
  add(project, project.keys, bell);
  const std::pair<int, KeyTask> tasks[] = {{7, BrakeKey{0.5, 1.0, {}}},
                                           {8, WakeKey{}},
                                           {9, ChoreKey{Chore::fire, {}}},
                                           {10, ChoreKey{Chore::feed, {}}}};
  for (const auto& [number, task] : tasks) {
    Key key;
    key.number = number;
    key.task = task;
    add(project, project.keys, key);
  }
  project.duties = Duties{};
  Cv duties;
  duties.number = 130;
  duties.effect = CvEffect{CvTarget::duties, {}, {}, {}, {}, 0.0, 1.0, {}};
  add(project, project.cvs, duties);
  return project;
}

std::map<std::string, RunCard> cards_of(const Project& project) {
  std::map<std::string, RunCard> cards;
  for (work::StandardCard& made : work::standard_cards(project))
    cards.emplace(made.name, std::move(made.card));
  return cards;
}

drive::DriveOutput drive_by(const Project& project, const RunCard& card) {
  DecoderProfile profile;
  profile.voices = 8;
  profile.output_rate_hz = 22'050;
  const auto set = drive::compile(project, profile, {});
  REQUIRE(set);
  JobControl job;
  auto output = drive::drive(*set, card, {.render = false}, job);
  if (!output) FAIL(to_line(output.error()));
  return *std::move(output);
}

double highest_kmh(const drive::DriveOutput& output) {
  double highest = 0.0;
  for (const drive::Event& event : output.events) {
    if (event.kind == EventKind::speed) highest = std::max(highest, event.speed_kmh);
  }
  return highest;
}

int times_at_rest(const drive::DriveOutput& output) {
  int times = 0;
  for (const drive::Event& event : output.events)
    times += event.kind == EventKind::state && event.text == "standing" && event.frame > 0;
  return times;
}

}  // namespace

TEST_CASE(
    "standard cards: whatever the set's momentum and brakes, each ends at rest with every key "
    "off but the one that woke it",
    "[work]") {
  for (const bool coasts : {false, true}) {
    const Project project = keys_only(coasts);
    const auto cards = cards_of(project);
    CHECK(cards.size() == 7);
    for (const auto& [name, card] : cards) {
      INFO(name << (coasts ? ", coasting" : ""));
      const auto output = drive_by(project, card);
      std::string state;
      std::set<int> on;
      for (const drive::Event& event : output.events) {
        if (event.kind == EventKind::state) state = event.text;
        if (event.kind != EventKind::key) continue;
        if (event.value != 0) {
          on.insert(event.number);
        } else {
          on.erase(event.number);
        }
      }
      CHECK(state == "standing");
      CHECK(on == std::set<int>{8});
      CHECK(card.moves.back().time_s < card.seconds);
    }
  }
}

TEST_CASE("standard cards: each shows what its name says", "[work]") {
  const Project project = keys_only(true);
  const auto cards = cards_of(project);
  CHECK(highest_kmh(drive_by(project, cards.at("start_run_stop"))) ==
        Approx(project.engine.top_speed_kmh));
  CHECK(times_at_rest(drive_by(project, cards.at("twenty_stops"))) >= 20);
  CHECK(times_at_rest(drive_by(project, cards.at("shunting"))) >= 4);
  CHECK(highest_kmh(drive_by(project, cards.at("shunting"))) < 0.3 * project.engine.top_speed_kmh);

  std::multiset<int> pressed;
  for (const Move& move : cards.at("every_key_once").moves) {
    if (const auto* key = std::get_if<MoveKey>(&move.what); key != nullptr && key->on) {
      pressed.insert(key->key);
    }
  }
  CHECK(pressed == std::multiset<int>{1, 2, 7, 8, 9, 10});

  // At rest, and once within each band that the engine reaches.
  std::vector<double> speeds;
  double speed = 0.0;
  for (const drive::Event& event : drive_by(project, cards.at("whistle_bands")).events) {
    if (event.kind == EventKind::speed) speed = event.speed_kmh;
    if (event.kind == EventKind::key && event.number == 2 && event.value != 0) {
      speeds.push_back(speed);
    }
  }
  REQUIRE(speeds.size() == 3);
  CHECK(speeds[0] == 0.0);
  CHECK(speeds[1] > 20.0);
  CHECK(speeds[1] < 50.0);
  CHECK(speeds[2] > 50.0);

  double least_bar = 100.0;
  double last_bar = 0.0;
  for (const drive::Event& event : drive_by(project, cards.at("duties")).events) {
    if (event.kind != EventKind::gauges) continue;
    least_bar = std::min(least_bar, event.pressure_bar);
    last_bar = event.pressure_bar;
  }
  CHECK(least_bar < project.duties->weak_bar);
  CHECK(last_bar > project.duties->weak_bar);
}

TEST_CASE("standard cards: a bare set has those that need nothing", "[work]") {
  const auto cards = cards_of(Project());
  CHECK(cards.size() == 3);
  CHECK(cards.count("start_run_stop") == 1);
}
