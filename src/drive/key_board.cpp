// SPDX-License-Identifier: GPL-3.0-or-later
#include "key_board.h"

#include <algorithm>
#include <variant>

namespace fourbeat::drive {

namespace {

template <class T>
const T* task_of(const ImageKey& key) noexcept {
  return key.task ? std::get_if<T>(&*key.task) : nullptr;
}

}  // namespace

KeyBoard::KeyBoard(const CompiledSet& set, EventSink& events)
    : set_(set), events_(events), runs_(set.keys.size()) {
  for (const ImageKey& key : set.keys) {
    const auto* wake = task_of<model::WakeKey>(key);
    if (wake != nullptr && wake->starts_asleep) awake_ = false;
  }
}

bool KeyBoard::serves(const ImageKey& key) const noexcept {
  return key.direction == model::KeyDirection::any ||
         (key.direction == model::KeyDirection::forward) == forward_;
}

void KeyBoard::press(const Scene& scene, std::size_t index, const CvBank& cvs,
                     SoundPlayer& player) noexcept {
  const ImageKey& key = set_.keys[index];
  if (!scene.audible || !in_force(key.when, scene.state, scene.own_states, cvs)) return;
  int use = key.use;
  for (const ImageVariant& variant : key.variants) {
    if (scene.speed_kmh >= variant.from_kmh) use = variant.use;
  }
  Run& run = runs_[index];
  // One that was chosen at another speed and still sounds gives way.
  if (run.playing != none && run.playing != use) player.stop(scene.frame, run.playing);
  run.playing = use;
  if (use != none) player.start(scene.frame, use);
}

void KeyBoard::let_go(const Scene& scene, std::size_t index, SoundPlayer& player) noexcept {
  const int use = runs_[index].playing;
  if (use != none) player.release(scene.frame, use);
}

void KeyBoard::begin_task(const Scene& scene, std::size_t index, CvBank& cvs,
                          Tuning& tuning) noexcept {
  const ImageKey& key = set_.keys[index];
  if (task_of<model::WakeKey>(key) != nullptr) awake_ = true;
  if (const auto* chore = task_of<model::ChoreKey>(key)) {
    if (chore->chore == model::Chore::fire) ++charges_;
  }
  if (const auto* slip = task_of<model::SlipKey>(key)) {
    if (scene.speed_kmh > 0.0) slip_ = slip->strength;
  }
  if (const auto* option = task_of<model::OptionKey>(key); option != nullptr && key.option_cv > 0) {
    runs_[index].former_value = cvs.get(key.option_cv, 0);
    set_option(scene.frame, key.option_cv, option->value, cvs, tuning);
  }
}

void KeyBoard::set_option(std::int64_t frame, int cv, int value, CvBank& cvs,
                          Tuning& tuning) noexcept {
  cvs.set(cv, value);
  tuning.take(cv, value);
  EngineEvent event;
  event.frame = frame;
  event.kind = EventKind::cv;
  event.number = cv;
  event.value = value;
  events_.send(event);
}

void KeyBoard::end_task(const Scene& scene, std::size_t index, CvBank& cvs,
                        Tuning& tuning) noexcept {
  const ImageKey& key = set_.keys[index];
  if (task_of<model::WakeKey>(key) != nullptr) awake_ = false;
  Run& run = runs_[index];
  if (run.former_value != none) {
    set_option(scene.frame, key.option_cv, run.former_value, cvs, tuning);
    run.former_value = none;
  }
}

void KeyBoard::set(const Scene& scene, int number, bool on, CvBank& cvs, Tuning& tuning,
                   SoundPlayer& player) noexcept {
  bool& was_on = on_[static_cast<std::size_t>(number)];
  if (was_on == on) return;
  was_on = on;
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    const ImageKey& key = set_.keys[i];
    if (key.number != number) continue;
    if (!on) {
      end_task(scene, i, cvs, tuning);
      let_go(scene, i, player);
    } else if (serves(key)) {
      runs_[i].since = scene.frame;
      begin_task(scene, i, cvs, tuning);
      press(scene, i, cvs, player);
    }
  }
}

void KeyBoard::face(const Scene& scene, bool forward, const CvBank& cvs,
                    SoundPlayer& player) noexcept {
  if (forward == forward_) return;
  forward_ = forward;
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    const ImageKey& key = set_.keys[i];
    const bool held = key.use != none && set_.use(key.use).kind == model::SoundKind::held;
    if (key.direction == model::KeyDirection::any || !held || !is_on(key.number)) continue;
    if (serves(key)) {
      press(scene, i, cvs, player);
    } else {
      let_go(scene, i, player);
    }
  }
}

KeyTasks KeyBoard::tasks(std::int64_t frame) noexcept {
  KeyTasks asked;
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    const ImageKey& key = set_.keys[i];
    if (!key.task || !is_on(key.number) || !serves(key)) continue;
    if (const auto* brake = task_of<model::BrakeKey>(key)) {
      const double held_s = static_cast<double>(frame - runs_[i].since) / set_.sample_rate_hz;
      const double share = brake->grows_s > 0.0 ? std::min(1.0, held_s / brake->grows_s) : 1.0;
      asked.brake = std::max(asked.brake, brake->strength * share);
    } else if (const auto* direct = task_of<model::DirectControlKey>(key)) {
      asked.momentum = std::min(asked.momentum, direct->momentum);
    } else if (const auto* silence = task_of<model::SilenceKey>(key)) {
      asked.silent = true;
      asked.silence_fade_s = silence->fade_s;
    } else if (const auto* soften = task_of<model::SoftenKey>(key)) {
      asked.softer_db = std::max(asked.softer_db, soften->by_db);
    } else if (const auto* effort = task_of<model::EffortKey>(key)) {
      asked.effort = effort->effort;
    } else if (const auto* chore = task_of<model::ChoreKey>(key)) {
      asked.feeds = asked.feeds || chore->chore == model::Chore::feed;
    }
  }
  asked.charges = charges_;
  asked.slip = slip_;
  charges_ = 0;
  slip_ = 0.0;
  return asked;
}

}  // namespace fourbeat::drive
