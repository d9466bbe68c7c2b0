// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/motion.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/model/run_card.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::drive {

namespace {

constexpr double seconds_a_rate = 0.896;  // S-9.2.2, CV3
constexpr int highest_rate = 255;
constexpr double gradient_weight = 0.2;  // a percent, see docs/drive.md

double slope_factor(double gradient_percent) {
  return std::clamp(1.0 + gradient_weight * gradient_percent, 0.5, 2.0);
}

}  // namespace

int momentum_rate(int rate_cv, int adjustment_cv) {
  const int magnitude = adjustment_cv & 0x7F;
  const int adjustment = (adjustment_cv & 0x80) != 0 ? -magnitude : magnitude;
  return std::clamp(rate_cv + adjustment, 0, highest_rate);
}

double seconds_per_step(int rate, int speed_steps) {
  return rate * seconds_a_rate / model::last_step(speed_steps);
}

double acceleration_factor(double load, double gradient_percent) {
  return (1.0 + load) * slope_factor(gradient_percent);
}

double deceleration_factor(double load, double gradient_percent) {
  return (1.0 + load) * slope_factor(-gradient_percent);
}

Motion::Motion(const model::Engine& engine, int sample_rate_hz, int speed_steps)
    : top_kmh_(engine.top_speed_kmh),
      sample_rate_hz_(sample_rate_hz),
      turns_per_frame_kmh_(
          1.0 / (3.6 * wheel_circumference_m(engine.driver_diameter_mm) * sample_rate_hz)),
      speed_steps_(speed_steps) {}

double Motion::target_kmh(int throttle_step) const noexcept {
  return throttle_step * top_kmh_ / model::last_step(speed_steps_);
}

double Motion::speed_after(double frames) const noexcept {
  return frames >= ramp_frames_ ? end_kmh_ : start_kmh_ + slope_ * frames;
}

double Motion::turns_after(double frames) const noexcept {
  const double ramp = std::min(frames, ramp_frames_);
  const double steady = frames - ramp;
  return turns_per_frame_kmh_ * (ramp * (start_kmh_ + 0.5 * slope_ * ramp) + steady * end_kmh_);
}

double Motion::speed_kmh(double frame) const noexcept {
  return speed_after(frame - static_cast<double>(start_frame_));
}

double Motion::turns(double frame) const noexcept {
  return static_cast<double>(whole_turns_) + turn_fraction_ +
         turns_after(frame - static_cast<double>(start_frame_));
}

void Motion::plan(std::int64_t frame, const Controls& controls) noexcept {
  const auto passed = static_cast<double>(frame - start_frame_);
  const double speed = speed_after(passed);
  const double run = turn_fraction_ + turns_after(passed);
  const double whole = std::floor(run);
  whole_turns_ += static_cast<std::int64_t>(whole);
  turn_fraction_ = run - whole;
  start_frame_ = frame;
  start_kmh_ = speed;

  if (speed == 0.0) forward_ = controls.forward;
  end_kmh_ = controls.forward == forward_ ? target_kmh(controls.throttle_step) : 0.0;

  const bool faster = end_kmh_ > speed;
  const int rate =
      faster ? momentum_rate(controls.cvs.acceleration, controls.cvs.acceleration_adjustment)
             : momentum_rate(controls.cvs.deceleration, controls.cvs.deceleration_adjustment);
  const double factor = faster ? acceleration_factor(controls.load, controls.gradient_percent)
                               : deceleration_factor(controls.load, controls.gradient_percent);
  const double sweep_frames = rate * seconds_a_rate * factor * sample_rate_hz_;
  if (sweep_frames == 0.0 || end_kmh_ == speed) {
    start_kmh_ = end_kmh_;
    slope_ = 0.0;
    ramp_frames_ = 0.0;
    return;
  }
  ramp_frames_ = std::abs(end_kmh_ - speed) / top_kmh_ * sweep_frames;
  slope_ = (faster ? top_kmh_ : -top_kmh_) / sweep_frames;
}

std::optional<double> Motion::frames_until(std::int64_t whole_turns,
                                           double fraction) const noexcept {
  const double way = static_cast<double>(whole_turns - whole_turns_) + (fraction - turn_fraction_);
  if (way <= 0.0) return 0.0;
  const double ramp_way = turns_after(ramp_frames_);
  if (way > ramp_way) {
    if (end_kmh_ == 0.0) return std::nullopt;
    return ramp_frames_ + (way - ramp_way) / (end_kmh_ * turns_per_frame_kmh_);
  }
  return std::min(
      time_of_turns(way, start_kmh_ * turns_per_frame_kmh_, slope_ * turns_per_frame_kmh_),
      ramp_frames_);
}

}  // namespace fourbeat::drive
