// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/edit.h"

#include <functional>
#include <string_view>
#include <vector>

namespace fourbeat::demo {

/// What makes the demo's set live: its states, triggers, layers, an option, duties and what keys
/// and CVs do beside playing. `project`: with its sounds and keys; `sound`: the sound cut from an
/// event. The edits are to be performed in order, each on the project that the ones before made.
class Living {
 public:
  using SoundOf = std::function<Id<model::Sound>(std::string_view event)>;
  using Perform = std::function<void(const model::Edit&)>;
  Living(const model::Project& project, SoundOf sound, Perform perform)
      : project_(project), sound_(std::move(sound)), perform_(std::move(perform)) {}
  void add();

 private:
  void add_triggers();
  void add_layers();
  void add_option();
  void add_tasks();
  void add_effects();
  template <class T>
  Id<T> added(T value);
  void change_key(int number, const std::function<void(model::Key&)>& change);

  const model::Project& project_;
  SoundOf sound_;
  Perform perform_;
};

}  // namespace fourbeat::demo
