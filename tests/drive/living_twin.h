// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "twin_set.h"

#include <string>
#include <utility>
#include <vector>

namespace fourbeat::tests {

/// A twin whose values can be given names and parts of a living set.
class LivingTwin : public TwinSet {
 public:
  template <class T>
  T& add(std::vector<T>& list, T value) {
    value.id = Id<T>(project.next_id++);
    list.push_back(std::move(value));
    return list.back();
  }
  Id<model::Trigger> add_trigger(model::Trigger trigger) {
    return add(project.triggers, std::move(trigger)).id;
  }
  Id<model::Layer> add_layer(model::Layer layer) {
    return add(project.layers, std::move(layer)).id;
  }
  Id<model::OwnState> add_state(model::OwnState state) {
    return add(project.states, std::move(state)).id;
  }
  Id<model::Option> add_option(model::Option option) {
    return add(project.options, std::move(option)).id;
  }
  /// A key with a task, and a sound where one is given.
  void add_task(int number, model::KeyTask task, Id<model::Sound> sound = {}) {
    model::Key key;
    key.number = number;
    key.sound = sound;
    key.task = std::move(task);
    add(project.keys, std::move(key));
  }
  void add_effect(int number, int value, const model::CvEffect& effect) {
    set_cv(number, value);
    for (model::Cv& cv : project.cvs) {
      if (cv.number == number) cv.effect = effect;
    }
  }
  /// An impulse of one sample.
  Id<model::Sound> add_impulse(float height = 1.0F, int priority = 50) {
    return add_shot(clip_of({height}), priority);
  }
  /// A sine that is held, from its hold alone.
  Id<model::Sound> add_tone(int priority = 50) {
    return add_held({}, add_segment(sine_hold()), {}, priority);
  }
};

/// A trigger that starts a sound.
[[nodiscard]] inline model::Trigger start_on(model::TriggerEvent event, Id<model::Sound> sound) {
  model::Trigger trigger;
  trigger.event = event;
  trigger.sound = sound;
  return trigger;
}

[[nodiscard]] inline model::RunCard card_of(double seconds, std::vector<model::Move> moves) {
  model::RunCard card;
  card.seconds = seconds;
  card.moves = std::move(moves);
  return card;
}

/// Frames at which the mix is not silent.
[[nodiscard]] inline std::vector<std::int64_t> sounding_frames(const std::vector<float>& samples) {
  std::vector<std::int64_t> frames;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    if (samples[i] != 0.0F) frames.push_back(static_cast<std::int64_t>(i));
  }
  return frames;
}

/// The frames of the voice_start events of a reason.
[[nodiscard]] inline std::vector<std::int64_t> starts_of(const drive::DriveOutput& output,
                                                         const std::string& reason) {
  std::vector<std::int64_t> frames;
  for (const drive::Event& event : events_of(output, drive::EventKind::voice_start)) {
    if (event.reason == reason) frames.push_back(event.frame);
  }
  return frames;
}

/// A set with everything that lives: two rows, every kind of layer and trigger, every key task.
[[nodiscard]] LivingTwin everything_twin();

}  // namespace fourbeat::tests
