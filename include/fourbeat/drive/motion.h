// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/engine.h"

#include <cstdint>
#include <optional>

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
};

/// The moving engine. Speed is piecewise linear in time; each piece starts at a frame given to
/// plan() and is evaluated in closed form, so nothing drifts with the length of a run. The wheel
/// angle counts the way run, whichever direction. No function allocates.
class Motion {
 public:
  /// engine: in range (see model::Engine); speed_steps: 14, 28 or 128. At rest, angle 0, forward.
  Motion(const model::Engine& engine, int sample_rate_hz, int speed_steps);

  /// Puts controls in force at `frame`, which must not be before the last plan's. A commanded
  /// direction other than that of travel takes the engine to rest; the next plan after that
  /// turns it round.
  void plan(std::int64_t frame, const Controls& controls) noexcept;

  /// The speed that the throttle asks for: step / last step × top speed.
  [[nodiscard]] double target_kmh(int throttle_step) const noexcept;
  /// The speed that the present piece leads to.
  [[nodiscard]] double goal_kmh() const noexcept { return end_kmh_; }
  [[nodiscard]] bool forward() const noexcept { return forward_; }

  /// At a time (in frames, whole or not) at or after the last plan.
  [[nodiscard]] double speed_kmh(double frame) const noexcept;
  /// Turns of the wheel since the start.
  [[nodiscard]] double turns(double frame) const noexcept;

  /// The exact time, in frames after the last plan, at which the wheel reaches whole turns +
  /// fraction; 0 when it has passed it; nothing when the present piece never does.
  [[nodiscard]] std::optional<double> frames_until(std::int64_t whole_turns,
                                                   double fraction) const noexcept;
  [[nodiscard]] std::int64_t plan_frame() const noexcept { return start_frame_; }
  /// Time in frames after the last plan at which the goal is reached; 0 when it already is.
  [[nodiscard]] double ramp_frames() const noexcept { return ramp_frames_; }

 private:
  [[nodiscard]] double speed_after(double frames) const noexcept;
  [[nodiscard]] double turns_after(double frames) const noexcept;

  double top_kmh_;
  double sample_rate_hz_;
  double turns_per_frame_kmh_;  // turns a frame at 1 km/h
  int speed_steps_;
  bool forward_ = true;

  std::int64_t start_frame_ = 0;
  std::int64_t whole_turns_ = 0;  // at start_frame_
  double turn_fraction_ = 0.0;    // at start_frame_, 0 to 1
  double start_kmh_ = 0.0;
  double end_kmh_ = 0.0;
  double slope_ = 0.0;  // km/h a frame during the ramp
  double ramp_frames_ = 0.0;
};

}  // namespace fourbeat::drive
