// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>
#include <variant>
#include <vector>

namespace fourbeat::model {

struct MoveThrottle {
  int step = 0;
  bool operator==(const MoveThrottle&) const = default;
};
struct MoveKey {
  int key = 0;
  bool on = true;
  bool operator==(const MoveKey&) const = default;
};
struct MoveDirection {
  bool forward = true;
  bool operator==(const MoveDirection&) const = default;
};
struct MoveCv {
  int cv = 0;
  int value = 0;
  bool operator==(const MoveCv&) const = default;
};
struct MoveLoad {
  double load = 0.0;
  bool operator==(const MoveLoad&) const = default;
};  ///< 0 light engine … 1 heaviest train
struct MoveGradient {
  double gradient_percent = 0.0;
  bool operator==(const MoveGradient&) const = default;
};

/// Emergency stop: rest at once, whatever else is set, until the throttle is moved.
struct MoveStop {
  bool operator==(const MoveStop&) const = default;
};
/// Power of the track.
struct MovePower {
  bool on = true;
  bool operator==(const MovePower&) const = default;
};

/// One thing the driver does, at a time from the start of the card.
struct Move {
  double time_s = 0.0;
  std::variant<MoveThrottle, MoveKey, MoveDirection, MoveCv, MoveLoad, MoveGradient, MoveStop,
               MovePower>
      what;
  bool operator==(const Move&) const = default;
};

/// A scripted drive.
struct RunCard {
  std::string title;
  std::uint64_t seed = 1;
  double seconds = 60.0;    ///< up to 4 hours
  int speed_steps = 128;    ///< 14, 28 or 128 (throttle steps 0 to 14, 28 or 126)
  std::vector<Move> moves;  ///< ascending in time
  bool operator==(const RunCard&) const = default;
};

/// The last throttle step of a step mode: 14, 28, and 126 for 128.
[[nodiscard]] constexpr int last_step(int speed_steps) {
  return speed_steps == 128 ? 126 : speed_steps;
}

}  // namespace fourbeat::model
