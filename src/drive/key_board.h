// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"
#include "sound_player.h"
#include "states.h"
#include "tuning.h"

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

namespace fourbeat::drive {

/// What the keys that are on ask of the engine, at one point of the control grid.
struct KeyTasks {
  double brake = 0.0;     ///< the strongest
  double momentum = 1.0;  ///< the least
  bool silent = false;
  double silence_fade_s = 0.5;
  double softer_db = 0.0;  ///< the most
  std::optional<model::Effort> effort;
  bool feeds = false;
  int charges = 0;    ///< of coal, since last asked
  double slip = 0.0;  ///< strength of a slip asked for since
};

/// The keys: which are on, what they play and what they ask for; docs/drive.md, section 10.
/// Allocates when it is made, and never after.
class KeyBoard {
 public:
  KeyBoard(const CompiledSet& set, EventSink& events);

  struct Scene {
    std::int64_t frame = 0;
    double speed_kmh = 0.0;
    model::State state = model::State::standing;
    std::uint64_t own_states = 0;
    bool audible = true;
  };
  /// A key is put on or off; nothing comes of it when it already is. What it does to a CV is told.
  void set(const Scene& scene, int number, bool on, CvBank& cvs, Tuning& tuning,
           SoundPlayer& player) noexcept;
  /// The engine turned round: sounds of the other direction are let go, those of this one start.
  void face(const Scene& scene, bool forward, const CvBank& cvs, SoundPlayer& player) noexcept;
  /// What is asked for at a grid point.
  [[nodiscard]] KeyTasks tasks(std::int64_t frame) noexcept;
  [[nodiscard]] bool awake() const noexcept { return awake_; }
  [[nodiscard]] bool is_on(int number) const noexcept {
    return on_[static_cast<std::size_t>(number)];
  }

 private:
  struct Run {
    int playing = none;  // the use that it started
    std::int64_t since = 0;
    int former_value = none;  // of the option that it switched
  };
  [[nodiscard]] bool serves(const ImageKey& key) const noexcept;
  void press(const Scene& scene, std::size_t index, const CvBank& cvs,
             SoundPlayer& player) noexcept;
  void let_go(const Scene& scene, std::size_t index, SoundPlayer& player) noexcept;
  void begin_task(const Scene& scene, std::size_t index, CvBank& cvs, Tuning& tuning) noexcept;
  void end_task(const Scene& scene, std::size_t index, CvBank& cvs, Tuning& tuning) noexcept;
  void set_option(std::int64_t frame, int cv, int value, CvBank& cvs, Tuning& tuning) noexcept;

  const CompiledSet& set_;
  EventSink& events_;
  std::array<bool, model::highest_key + 1> on_{};
  std::vector<Run> runs_;  // one a use of a key
  bool forward_ = true;
  bool awake_ = true;
  int charges_ = 0;
  double slip_ = 0.0;
};

}  // namespace fourbeat::drive
