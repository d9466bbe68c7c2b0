// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/throttle_curve.h"
#include "fourbeat/model/driving.h"
#include "fourbeat/model/engine.h"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

/// Motion: throttle, momentum and the angle of the driving wheel, in closed form. Equations and
/// defaults: docs/drive.md, sections 2 and 3.

namespace fourbeat::drive {

/// Momentum in force while the set names no CV3 or CV4: 8.96 s for the whole sweep.
inline constexpr int default_momentum_rate = 10;

/// The CVs that shape momentum (NMRA S-9.2.2); values 0 to 255.
struct MomentumCvs {
  int acceleration = default_momentum_rate;  ///< CV3
  int deceleration = default_momentum_rate;  ///< CV4
  int acceleration_adjustment = 0;           ///< CV23: bit 7 the sign, bits 0 to 6 the magnitude
  int deceleration_adjustment = 0;           ///< CV24: likewise
  bool operator==(const MomentumCvs&) const = default;
};

/// CV3 with CV23 (or CV4 with CV24) joined: the sum, held to 0 … 255 as the standard says
/// (S-9.2.2, CV23 and CV24: overflow is the highest rate, underflow none).
[[nodiscard]] int momentum_rate(int rate_cv, int adjustment_cv);

/// Seconds a speed step: rate × 0.896 / steps in use (14, 28 or 126); S-9.2.2, CV3.
[[nodiscard]] double seconds_per_step(int rate, int speed_steps);

/// What load and gradient make of a momentum time. A factor above 1 is slower.
/// accelerating: (1 + load) × clamp(1 + 0.2 × gradient, 0.5, 2); slowing: with 1 - 0.2 × gradient.
[[nodiscard]] double acceleration_factor(double load, double gradient_percent);
[[nodiscard]] double deceleration_factor(double load, double gradient_percent);

/// What the driver has set.
struct Controls {
  int throttle_step = 0;
  bool forward = true;
  double load = 0.0;              ///< 0 to 1
  double gradient_percent = 0.0;  ///< up is positive
  MomentumCvs cvs;
  double momentum = 1.0;         ///< share of its time that momentum takes; 0 to 1
  double coasting_factor = 1.0;  ///< how much longer slowing down takes unbraked; at least 1
  double brake = 0.0;            ///< 0 to 1: with any, the engine slows down to rest
  double full_brake_s = 6.0;     ///< from the last step to rest under a full brake
  double pull = 1.0;             ///< share of the drive level that the steam still makes
  bool at_once = false;          ///< stops dead: emergency stop, or no track power
  bool held = false;             ///< an engine at rest stays there
  bool operator==(const Controls&) const = default;
};

/// The CVs of momentum that a bank holds.
[[nodiscard]] MomentumCvs momentum_cvs(const CvBank& cvs) noexcept;

/// The moving engine. The throttle's step moves linearly in time under momentum; the curve makes a
/// speed of it, so that speed is piecewise linear in time. Each plan starts at a frame and is
/// evaluated in closed form, so nothing drifts with the length of a run. The wheel angle counts the
/// way run, whichever direction. No function allocates.
class Motion {
 public:
  /// engine: in range (see model::Engine); speed_steps: 14, 28 or 128; speed_curve: what the model
  /// makes of a drive level (see model::Driving). At rest, angle 0, forward, with the straight
  /// curve of the throttle. Allocates here, and never after.
  Motion(const model::Engine& engine, int sample_rate_hz, int speed_steps,
         std::vector<model::SpeedPoint> speed_curve = {});

  /// Puts curves of this step mode in force from the next plan on. Under way the speed holds: the
  /// step from which it goes on is the nearest that has this speed; where none has it the speed
  /// jumps.
  void set_curves(const ThrottleCurve& forward, const ThrottleCurve& reverse) noexcept;

  /// Puts controls in force at `frame`, which must not be before the last plan's. A commanded
  /// direction other than that of travel takes the engine to rest; the next plan after that
  /// turns it round.
  void plan(std::int64_t frame, const Controls& controls) noexcept;

  /// The speed that controls lead to when they are put in force at this speed.
  [[nodiscard]] double target_kmh(const Controls& controls, double speed_kmh) const noexcept;
  /// The speed that the present plan leads to.
  [[nodiscard]] double goal_kmh() const noexcept { return steady().kmh; }
  [[nodiscard]] bool forward() const noexcept { return forward_; }

  /// At a time (in frames, whole or not) at or after the last plan.
  [[nodiscard]] double speed_kmh(double frame) const noexcept;
  /// Turns of the wheel since the start.
  [[nodiscard]] double turns(double frame) const noexcept;

  /// The exact time, in frames after the last plan, at which the wheel reaches whole turns +
  /// fraction; 0 when it has passed it; nothing when the present plan never does.
  [[nodiscard]] std::optional<double> frames_until(std::int64_t whole_turns,
                                                   double fraction) const noexcept;
  /// The first time after `frame`, in frames, at which the speed's line bends; `end` when none
  /// comes before it.
  [[nodiscard]] double next_bend(double frame, double end) const noexcept;
  /// Turns of the wheel a frame at 1 km/h.
  [[nodiscard]] double turns_per_frame_kmh() const noexcept { return turns_per_frame_kmh_; }
  [[nodiscard]] std::int64_t plan_frame() const noexcept { return start_frame_; }
  /// Time in frames after the last plan at which the goal is reached; 0 when it already is.
  [[nodiscard]] double ramp_frames() const noexcept { return steady().from_frames; }

 private:
  /// A stretch of a plan on which speed is linear in time.
  struct Piece {
    double from_frames = 0.0;  // after the plan
    double kmh = 0.0;          // at its start
    double slope = 0.0;        // km/h a frame
    double turns = 0.0;        // from the plan to its start
  };
  /// A curve in km/h, with the steps between which it is one straight line.
  struct Speeds {
    std::array<double, most_steps + 1> kmh{};    // by step
    std::array<int, most_steps + 1> line_end{};  // of the line on which step k to k + 1 lies
    std::array<int, most_steps + 1> line_start{};
  };
  [[nodiscard]] Speeds speeds_of(const ThrottleCurve& curve) const noexcept;
  [[nodiscard]] const Speeds& speeds(bool forward) const noexcept {
    return forward ? ahead_ : astern_;
  }
  /// The last piece, on which speed stays.
  [[nodiscard]] const Piece& steady() const noexcept { return pieces_[piece_count_ - 1]; }
  [[nodiscard]] const Piece& piece_at(double frames) const noexcept;
  [[nodiscard]] double speed_after(double frames) const noexcept;
  [[nodiscard]] double turns_after(double frames) const noexcept;
  [[nodiscard]] double step_after(double frames) const noexcept;
  /// The step nearest to `near` that has a speed; nothing where none has.
  [[nodiscard]] std::optional<double> step_of_speed(double kmh, double near) const noexcept;
  [[nodiscard]] double speed_of_step(double step) const noexcept;
  void lay_pieces(double kmh) noexcept;

  [[nodiscard]] double speed_of_level(double level) const noexcept;
  [[nodiscard]] int end_step_of(const Controls& controls, double speed_kmh) const noexcept;

  double top_kmh_;
  std::vector<model::SpeedPoint> speed_curve_;
  double sample_rate_hz_;
  double turns_per_frame_kmh_;  // turns a frame at 1 km/h
  int last_step_;
  Speeds ahead_;
  Speeds astern_;
  bool curves_changed_ = false;
  bool forward_ = true;

  std::int64_t start_frame_ = 0;
  std::int64_t whole_turns_ = 0;  // at start_frame_
  double turn_fraction_ = 0.0;    // at start_frame_, 0 to 1
  double start_step_ = 0.0;       // likewise
  double steps_a_frame_ = 0.0;    // down: negative
  int end_step_ = 0;
  std::array<Piece, most_steps + 2> pieces_{};
  std::size_t piece_count_ = 1;
};

}  // namespace fourbeat::drive
