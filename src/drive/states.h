// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"

#include "fourbeat/drive/motion.h"

#include <cstdint>
#include <span>
#include <vector>

namespace fourbeat::drive {

/// What a state is judged by, at one point of the control grid; docs/drive.md, section 5.
struct Situation {
  std::int64_t frame = 0;
  double speed_kmh = 0.0;
  double goal_kmh = 0.0;
  double turns_since_rest = 0.0;
  model::Effort effort = model::Effort::easy;
  bool braked = false;
  bool awake = true;
  bool powered = true;
};

/// The state that the engine is in, with hold times. No call allocates.
class StateJudge {
 public:
  StateJudge(double hold_s, int sample_rate_hz);
  /// The state from this grid point on. Points must ascend.
  model::State update(const Situation& now) noexcept;
  [[nodiscard]] model::State state() const noexcept { return state_; }

 private:
  std::int64_t hold_frames_;
  std::int64_t changed_frame_;
  model::State state_ = model::State::standing;
};

/// Which states of the set's own are in force. Allocates when it is made, and never after.
class OwnStates {
 public:
  OwnStates(std::size_t count, int sample_rate_hz);
  /// By place in `states`, a bit each.
  std::uint64_t update(std::span<const model::OwnState> states, const Situation& now,
                       model::State state) noexcept;
  [[nodiscard]] std::uint64_t in_force() const noexcept { return in_force_; }

 private:
  struct Clock {
    std::int64_t held_from = none;  ///< since when all it asks for holds; none: it does not
    std::int64_t entered = 0;
  };
  int sample_rate_hz_;
  std::vector<Clock> clocks_;
  std::uint64_t in_force_ = 0;
};

/// Whether something is in force.
[[nodiscard]] bool in_force(const ImageWhen& when, model::State state, std::uint64_t own_states,
                            const CvBank& cvs) noexcept;

}  // namespace fourbeat::drive
