// SPDX-License-Identifier: GPL-3.0-or-later
#include "living.h"

#include "fourbeat/model/project.h"

#include <utility>

namespace fourbeat::demo {

using namespace model;

namespace {

// Of the set's own CVs, in the makers' area of S-9.2.2.
constexpr int whistle_cv = 120;
constexpr int volume_cv = 121;
constexpr int chuff_volume_cv = 122;
constexpr int duties_cv = 123;
constexpr int valve_cv = 124;

}  // namespace

template <class T>
Id<T> Living::added(T value) {
  perform_(Add<T>{std::move(value), std::nullopt});
  return last_drawn<T>(project_);
}

void Living::change_key(int number, const std::function<void(Key&)>& change) {
  for (const Key& key : std::vector<Key>(project_.keys)) {
    if (key.number != number) continue;
    Key changed = key;
    change(changed);
    perform_(Replace<Key>{std::move(changed)});
  }
}

void Living::add_triggers() {
  Trigger squeal;
  squeal.name = "Brake blocks, coming in";
  squeal.event = TriggerEvent::speed_falls;
  squeal.speed_kmh = 9.0;
  squeal.when.states = {State::braking, State::stopping};
  squeal.sound = sound_("brake_squeal");
  added(squeal);
  Trigger quiet;
  quiet.name = "Blocks fall silent with the wheels";
  quiet.event = TriggerEvent::at_rest;
  quiet.action = TriggerAction::stop;
  quiet.sound = squeal.sound;
  quiet.fade_s = 0.05;
  added(quiet);
  Trigger clank;
  clank.name = "The last clank";
  clank.event = TriggerEvent::at_rest;
  clank.delay_s = 0.15;
  clank.sound = sound_("coupler");
  clank.gain_db = -8.0;
  added(clank);
  Trigger valve;
  valve.name = "Safety valve, now and then";
  valve.event = TriggerEvent::every;
  valve.every = TimeSpan{90.0, 240.0, {}};
  valve.lasts = TimeSpan{4.0, 9.0, {}};
  valve.when.states = {State::standing};
  valve.sound = sound_("safety_valve");
  const Id<Trigger> valve_id = added(valve);
  Trigger lifts;
  lifts.name = "Safety valve lifts";
  lifts.event = TriggerEvent::blows_off;
  lifts.sound = valve.sound;
  added(lifts);
  Trigger shuts;
  shuts.name = "Safety valve shuts";
  shuts.event = TriggerEvent::reseats;
  shuts.action = TriggerAction::stop;
  shuts.sound = valve.sound;
  added(shuts);
  Trigger reverser;
  reverser.name = "Reverser wound over";
  reverser.event = TriggerEvent::reversing;
  reverser.sound = sound_("reverser");
  added(reverser);
  Cv cv;
  cv.number = valve_cv;
  cv.value = 85;
  cv.name = "Safety valve, seconds between at least";
  cv.effect = CvEffect{CvTarget::trigger_time, {}, {}, {}, valve_id, 5.0, 260.0, {}};
  added(cv);
}

void Living::add_layers() {
  Layer simmer;
  simmer.name = "Standing";
  simmer.sounds = {sound_("simmer")};
  simmer.when.states = {State::standing};
  simmer.fade_s = 0.8;
  added(simmer);
  Layer cocks;
  cocks.name = "Drain cocks, first turns";
  cocks.sounds = {sound_("drain_cocks")};
  cocks.from_kmh = 0.1;
  cocks.first_turns = 4.0;
  cocks.when.states = {State::starting, State::working};
  cocks.gain_db = -6.0;
  cocks.fade_s = 0.15;
  added(cocks);
  Layer rods;
  rods.name = "Rods";
  rods.sounds = {sound_("rods")};
  rods.from_kmh = 3.0;
  rods.drifting_db = 0.0;
  rods.easy_db = -9.0;
  rods.hard_db = -60.0;
  rods.levels = {{3.0, -15.0, {}}, {30.0, 0.0, {}}};
  rods.fade_s = 0.4;
  added(rods);
}

void Living::add_option() {
  Option option;
  option.name = "Whistle";
  option.cv = whistle_cv;
  option.choices = {{0, "the engine's own", {}}, {1, "the shunting whistle", {}}};
  const Id<Option> id = added(option);
  Cv cv;
  cv.number = whistle_cv;
  cv.name = "Whistle on F11";
  cv.note = "0: the engine's own, longer the faster she runs. 1: the shunting whistle.";
  added(cv);
  change_key(11, [&](Key& key) {
    key.when.option = id;
    key.when.option_value = 0;
    key.by_speed = {{20.0, sound_("whistle_departure"), {}},
                    {40.0, sound_("whistle_crossing"), {}}};
  });
  Key other;
  other.number = 11;
  other.label = "Two peeps";
  other.mode = KeyMode::momentary;
  other.when.option = id;
  other.when.option_value = 1;
  other.sound = sound_("whistle_peep");
  added(other);
}

void Living::add_tasks() {
  change_key(26, [](Key& key) {
    key.label = "Brake";
    key.task = BrakeKey{1.0, 1.5, {}};
    key.sound = {};
  });
  change_key(18, [](Key& key) { key.task = ChoreKey{Chore::fire, {}}; });
  change_key(10, [](Key& key) { key.task = ChoreKey{Chore::feed, {}}; });
}

void Living::add_effects() {
  Cv volume;
  volume.number = volume_cv;
  volume.value = 255;
  volume.name = "Volume";
  volume.note = "51 steps a 10 dB, 255 full.";
  volume.effect = CvEffect{CvTarget::set_gain, {}, {}, {}, {}, -50.0, 0.0, {}};
  added(volume);
  Cv chuffs = volume;
  chuffs.number = chuff_volume_cv;
  chuffs.name = "Volume of the chuffs";
  chuffs.effect->target = CvTarget::chuff_gain;
  added(chuffs);
  Cv duties;
  duties.number = duties_cv;
  duties.name = "Duties";
  duties.note = "128 or more: fire (F18) and water (F10) are yours to keep.";
  duties.effect = CvEffect{CvTarget::duties, {}, {}, {}, {}, 0.0, 1.0, {}};
  added(duties);
}

void Living::add() {
  perform_(SetDuties{Duties{}});
  Driving driving = project_.driving;
  driving.slip = Slip{};
  driving.slip->chance = 0.3;
  driving.heavy_start_load = 0.7;
  perform_(SetDriving{driving});
  add_triggers();
  add_layers();
  add_option();
  add_tasks();
  add_effects();
}

}  // namespace fourbeat::demo
