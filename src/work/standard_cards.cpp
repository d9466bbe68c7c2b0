// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/standard_cards.h"

#include "fourbeat/drive/motion.h"
#include "fourbeat/drive/throttle_curve.h"
#include "fourbeat/model/cv_values.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <utility>
#include <variant>

namespace fourbeat::work {

namespace {

using namespace model;

constexpr int speed_steps = 128;
constexpr int full_step = 126;
constexpr double longest_s = 14'400.0;  // of a card
constexpr double short_press_s = 0.3;
constexpr double held_press_s = 2.0;

template <class T>
const T* task_of(const Key& key) {
  return key.task ? std::get_if<T>(&*key.task) : nullptr;
}

/// How long the set takes to change its speed, and which step asks for a speed.
class Pace {
 public:
  explicit Pace(const Project& project)
      : project_(project),
        motion_(project.engine, 48'000, speed_steps, project.driving.speed_curve) {
    drive::CvBank cvs;
    for (const Cv& cv : project.cvs)
      cvs.set(cv.number, cv.value);
    motion_.set_curves(drive::throttle_curve(cvs, speed_steps, true),
                       drive::throttle_curve(cvs, speed_steps, false));
    const drive::MomentumCvs rates = drive::momentum_cvs(cvs);
    up_s_ = drive::seconds_per_step(
        drive::momentum_rate(rates.acceleration, rates.acceleration_adjustment), speed_steps);
    down_s_ = drive::seconds_per_step(
        drive::momentum_rate(rates.deceleration, rates.deceleration_adjustment), speed_steps);
    if (project.driving.coasts_until_braked) down_s_ *= project.driving.coasting_factor;
  }
  /// The lowest step that asks for at least a speed; the last where none does.
  [[nodiscard]] int step_of(double kmh) const {
    drive::Controls controls;
    for (int step = 0; step < full_step; ++step) {
      controls.throttle_step = step;
      if (motion_.target_kmh(controls, 0.0) >= kmh) return step;
    }
    return full_step;
  }
  [[nodiscard]] double up_s(int from, int to) const { return up_s_ * (to - from); }
  [[nodiscard]] double down_s(int from) const { return down_s_ * from; }
  /// To rest from a step under a brake that is put on.
  [[nodiscard]] double brake_s(int from, const BrakeKey& brake) const {
    return brake.grows_s + project_.driving.full_brake_s / brake.strength * from / full_step;
  }

 private:
  const Project& project_;
  drive::Motion motion_;
  double up_s_ = 0.0;
  double down_s_ = 0.0;
};

/// A card under construction: moves at a time that only goes on.
class Script {
 public:
  explicit Script(std::string title) {
    card_.title = std::move(title);
    card_.speed_steps = speed_steps;
  }
  template <class What>
  void move(What what) {
    card_.moves.push_back({std::min(now_s_, longest_s), what});
  }
  void wait(double seconds) {
    // Times of a tenth of a second read well.
    now_s_ = std::ceil((now_s_ + std::max(0.0, seconds)) * 10.0 - 1e-9) / 10.0;
  }
  void throttle(int step) { move(MoveThrottle{step}); }
  void press(int number, double seconds) {
    move(MoveKey{number, true});
    wait(seconds);
    move(MoveKey{number, false});
  }
  [[nodiscard]] RunCard done() {
    wait(2.0);
    card_.seconds = std::clamp(now_s_, 1.0, longest_s);
    return std::move(card_);
  }

 private:
  RunCard card_;
  double now_s_ = 0.0;
};

/// The strongest brake key of a set.
struct Brake {
  int number = 0;
  BrakeKey task;
};
std::optional<Brake> brake_of(const Project& project) {
  std::optional<Brake> found;
  for (const Key& key : project.keys) {
    const auto* task = task_of<BrakeKey>(key);
    if (task == nullptr || key.direction == KeyDirection::reverse) continue;
    if (!found || task->strength > found->task.strength) found = Brake{key.number, *task};
  }
  return found;
}

/// Puts the set's sound on, where a key does.
void wake(const Project& project, Script& script) {
  for (const Key& key : project.keys) {
    const auto* task = task_of<WakeKey>(key);
    if (task == nullptr || !task->starts_asleep) continue;
    script.move(MoveKey{key.number, true});
    script.wait(3.0);
    return;
  }
}

/// Down to rest from a step: shut off, and braked where only a brake stops in good time.
void stop(const Project& project, const Pace& pace, Script& script, int step, double load = 0.0) {
  const double slower = drive::deceleration_factor(load, 0.0);
  script.throttle(0);
  const auto brake = brake_of(project);
  if (!brake || !project.driving.coasts_until_braked) {
    script.wait(slower * pace.down_s(step) + 1.0);
    return;
  }
  script.wait(2.0);
  script.press(brake->number, slower * pace.brake_s(step, brake->task) + 1.0);
}

RunCard start_run_stop(const Project& project, const Pace& pace) {
  Script script("To top speed, along at it, and back to rest");
  wake(project, script);
  script.wait(3.0);
  script.throttle(full_step);
  script.wait(pace.up_s(0, full_step) + 10.0);
  stop(project, pace, script, full_step);
  script.wait(3.0);
  return script.done();
}

RunCard shunting(const Project& project, const Pace& pace) {
  Script script("Shunting: to and fro, slowly");
  wake(project, script);
  const int step = pace.step_of(0.2 * project.engine.top_speed_kmh);
  constexpr double load = 0.3;
  script.move(MoveLoad{load});
  for (const bool forward : {true, false, true, false}) {
    script.move(MoveDirection{forward});
    script.wait(2.0);
    script.throttle(step);
    script.wait(drive::acceleration_factor(load, 0.0) * pace.up_s(0, step) + 6.0);
    stop(project, pace, script, step, load);
    script.wait(2.0);
  }
  return script.done();
}

RunCard twenty_stops(const Project& project, const Pace& pace) {
  Script script("Twenty stops from five speeds");
  wake(project, script);
  const auto brake = brake_of(project);
  for (const double share : {0.2, 0.4, 0.6, 0.8, 1.0}) {
    const int step = pace.step_of(share * project.engine.top_speed_kmh);
    for (int way = 0; way < 4; ++way) {
      script.wait(2.0);
      script.throttle(step);
      script.wait(pace.up_s(0, step) + 3.0);
      if (way == 3) {
        script.move(MoveStop{});
      } else if (way > 0 && brake) {
        if (way == 1) script.throttle(0);
        script.move(MoveKey{brake->number, true});
        script.wait(pace.brake_s(step, brake->task) + 1.0);
        script.throttle(0);
        script.move(MoveKey{brake->number, false});
      } else {
        stop(project, pace, script, step);
      }
      script.wait(1.0);
    }
  }
  return script.done();
}

std::vector<Key> keys_in_order(const Project& project) {
  std::vector<Key> keys = project.keys;
  std::stable_sort(keys.begin(), keys.end(),
                   [](const Key& a, const Key& b) { return a.number < b.number; });
  return keys;
}

bool holds(const Project& project, const Key& key) {
  const Sound* sound = find(project, key.sound);
  return sound != nullptr && sound->kind == SoundKind::held;
}

RunCard every_key_once(const Project& project) {
  Script script("Every key once, at rest");
  wake(project, script);
  std::set<int> pressed;
  for (const Key& key : keys_in_order(project)) {
    if (task_of<WakeKey>(key) != nullptr || !pressed.insert(key.number).second) continue;
    script.wait(1.0);
    script.press(key.number, holds(project, key) ? held_press_s : short_press_s);
    script.wait(1.5);
  }
  return script.done();
}

RunCard worst_case_voices(const Project& project, const Pace& pace) {
  Script script("All keys at once, under way");
  wake(project, script);
  const int step = pace.step_of(0.5 * project.engine.top_speed_kmh);
  script.throttle(step);
  script.wait(pace.up_s(0, step) + 2.0);
  std::set<int> numbers;
  for (const bool held : {true, false}) {  // what lasts first, so that all sound together
    for (const Key& key : keys_in_order(project)) {
      if (key.task || !key.sound.is_set() || holds(project, key) != held) continue;
      if (numbers.insert(key.number).second) script.move(MoveKey{key.number, true});
    }
  }
  script.wait(6.0);
  for (const int number : numbers)
    script.move(MoveKey{number, false});
  stop(project, pace, script, step);
  return script.done();
}

RunCard whistle_bands(const Project& project, const Pace& pace) {
  Script script("Each key that grows with speed, in each of its bands");
  wake(project, script);
  for (const Key& key : keys_in_order(project)) {
    if (key.by_speed.empty()) continue;
    script.wait(2.0);
    script.press(key.number, held_press_s);
    int at = 0;
    for (std::size_t i = 0; i < key.by_speed.size(); ++i) {
      const double from_kmh = key.by_speed[i].from_kmh;
      if (from_kmh >= project.engine.top_speed_kmh) break;
      const double to_kmh = i + 1 < key.by_speed.size() ? std::min(key.by_speed[i + 1].from_kmh,
                                                                   project.engine.top_speed_kmh)
                                                        : project.engine.top_speed_kmh;
      const int step = std::max(at, pace.step_of(0.5 * (from_kmh + to_kmh)));
      script.throttle(step);
      script.wait(pace.up_s(at, step) + 1.0);
      script.press(key.number, held_press_s);
      script.wait(2.0);
      at = step;
    }
    stop(project, pace, script, at);
  }
  return script.done();
}

RunCard duties(const Project& project, const Pace& pace) {
  constexpr double neglected_s = 600.0;
  constexpr int rounds = 12;
  Script script("Duties neglected, then kept");
  wake(project, script);
  for (const Cv& cv : project.cvs) {
    if (cv.effect && cv.effect->target == CvTarget::duties) {
      script.move(MoveCv{cv.number, cv.effect->at_255 >= cv.effect->at_0 ? 255 : 0});
    }
  }
  constexpr double load = 0.8;
  script.move(MoveLoad{load});
  script.move(MoveGradient{1.5});
  script.throttle(full_step);
  script.wait(neglected_s);
  script.throttle(0);
  script.move(MoveGradient{0.0});
  const auto chore_key = [&](Chore chore) -> std::optional<int> {
    for (const Key& key : project.keys) {
      const auto* task = task_of<ChoreKey>(key);
      if (task != nullptr && task->chore == chore) return key.number;
    }
    return std::nullopt;
  };
  const auto fire = chore_key(Chore::fire);
  const auto feed = chore_key(Chore::feed);
  for (int round = 0; round < rounds; ++round) {
    if (fire && round % 2 == 0) script.press(*fire, short_press_s);
    script.wait(5.0);
    if (feed) script.press(*feed, 15.0);
    script.wait(15.0);
  }
  script.throttle(full_step / 2);
  script.wait(drive::acceleration_factor(load, 0.0) * pace.up_s(0, full_step / 2) + 20.0);
  stop(project, pace, script, full_step / 2, load);
  return script.done();
}

}  // namespace

std::vector<StandardCard> standard_cards(const Project& project) {
  const Pace pace(project);
  std::vector<StandardCard> cards;
  cards.push_back({"start_run_stop", start_run_stop(project, pace)});
  cards.push_back({"shunting", shunting(project, pace)});
  cards.push_back({"twenty_stops", twenty_stops(project, pace)});
  if (!project.keys.empty()) {
    cards.push_back({"every_key_once", every_key_once(project)});
    cards.push_back({"worst_case_voices", worst_case_voices(project, pace)});
  }
  const auto grows = [](const Key& key) { return !key.by_speed.empty(); };
  if (std::any_of(project.keys.begin(), project.keys.end(), grows)) {
    cards.push_back({"whistle_bands", whistle_bands(project, pace)});
  }
  if (project.duties) cards.push_back({"duties", duties(project, pace)});
  return cards;
}

}  // namespace fourbeat::work
