// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"

#include "fourbeat/drive/motion.h"

#include <cstdint>
#include <optional>

namespace fourbeat::drive {

/// A moment between frames: a frame, and how many frames after it.
struct Moment {
  std::int64_t frame = 0;
  double after = 0.0;

  [[nodiscard]] std::int64_t nearest_frame() const;
  /// Frames from a frame to it.
  [[nodiscard]] double since(std::int64_t start) const {
    return static_cast<double>(frame - start) + after;
  }
};

/// What a slip adds to the turns of the driving wheel: rim speed that rises, stays and falls in
/// straight lines. In closed form, as Motion is.
class SlipTurns {
 public:
  /// peak: turns a frame; the three lengths in frames, the first and last above 0.
  void start(std::int64_t frame, double peak, double rise, double hold, double fall) noexcept;
  [[nodiscard]] bool active(std::int64_t frame) const noexcept {
    return started_ && static_cast<double>(frame - start_) < rise_ + hold_ + fall_;
  }
  /// All that slips have added up to a frame.
  [[nodiscard]] double turns(double frame) const noexcept;
  [[nodiscard]] double turns_a_frame(double frame) const noexcept;
  /// The first frame, not whole, after this one at which the line bends; nothing later than `end`.
  [[nodiscard]] double next_bend(double frame, double end) const noexcept;

 private:
  bool started_ = false;
  std::int64_t start_ = 0;
  double before_ = 0.0;  // turns that earlier ones added
  double peak_ = 0.0;
  double rise_ = 0.0;
  double hold_ = 0.0;
  double fall_ = 0.0;
};

/// The driving wheel: the way run and what it slips. No call allocates.
class WheelClock {
 public:
  explicit WheelClock(const Motion& motion) : motion_(motion) {}
  SlipTurns slip;

  [[nodiscard]] double turns(double frame) const noexcept {
    return motion_.turns(frame) + slip.turns(frame);
  }
  /// When the wheel comes to whole turns + fraction, if before the grid point after `grid`.
  [[nodiscard]] std::optional<Moment> moment_of(std::int64_t whole, double fraction,
                                                std::int64_t grid) const noexcept;
  /// When the way run comes to so many turns, likewise: what slips is no way.
  [[nodiscard]] std::optional<Moment> moment_of_way(double turns, std::int64_t grid) const noexcept;
  /// Speed of the rims.
  [[nodiscard]] double rim_kmh(double frame) const noexcept;

 private:
  [[nodiscard]] std::optional<Moment> search(std::int64_t whole, double fraction,
                                             std::int64_t grid) const noexcept;
  const Motion& motion_;
};

/// When beats are due, as the decoder knows it; docs/drive.md, section 4. No call allocates.
class BeatClock {
 public:
  struct Beat {
    bool due = false;  ///< before the next grid point
    std::int64_t frame = 0;
    double speed_kmh = 0.0;  ///< of the rims
    double turns = 0.0;      ///< of the wheel so far
  };
  BeatClock(const CompiledSet& set, const WheelClock& wheel);

  /// Of a clock that calculates: by how much it counts too many, from this frame on.
  void set_error(double percent, std::int64_t frame) noexcept;
  /// The wheel stands still: a sensor's last pulses tell nothing of the next.
  void rest() noexcept {
    interval_known_ = false;
    rested_ = true;
  }
  /// The beat to come, as seen at a grid point or right after the beat before it.
  [[nodiscard]] Beat next(std::int64_t grid) noexcept;
  void skip() noexcept;
  [[nodiscard]] std::int64_t turn() const noexcept { return turn_; }
  [[nodiscard]] std::size_t position() const noexcept { return position_; }

 private:
  [[nodiscard]] std::optional<Moment> moment(std::int64_t grid) noexcept;
  [[nodiscard]] std::optional<Moment> sensed(std::int64_t grid) noexcept;

  const CompiledSet& set_;
  const WheelClock& wheel_;
  std::int64_t turn_ = 0;
  std::size_t position_ = 0;
  double scale_ = 1.0;  // turns counted a turn made
  double zero_ = 0.0;   // the wheel's turns at which the count was 0
  std::int64_t pulse_ = 1;
  Moment last_pulse_;
  double interval_ = 0.0;  // frames between the last two pulses
  bool interval_known_ = false;
  bool rested_ = true;
};

}  // namespace fourbeat::drive
