// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/motion.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/model/run_card.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace fourbeat::drive {

namespace {

constexpr double seconds_a_rate = 0.896;  // S-9.2.2, CV3
constexpr int highest_rate = 255;
constexpr int acceleration_cv = 3;
constexpr int deceleration_cv = 4;
constexpr int acceleration_adjustment_cv = 23;
constexpr int deceleration_adjustment_cv = 24;
// Of full drive: three levels that bend less are one straight line but for rounding.
constexpr double straight_enough = 1e-12;
constexpr double full_level = 255.0;
constexpr double least_pull = 0.05;      // a weak engine gains speed, however slowly
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

MomentumCvs momentum_cvs(const CvBank& cvs) noexcept {
  MomentumCvs made;
  made.acceleration = cvs.get(acceleration_cv, default_momentum_rate);
  made.deceleration = cvs.get(deceleration_cv, default_momentum_rate);
  made.acceleration_adjustment = cvs.get(acceleration_adjustment_cv, 0);
  made.deceleration_adjustment = cvs.get(deceleration_adjustment_cv, 0);
  return made;
}

Motion::Motion(const model::Engine& engine, int sample_rate_hz, int speed_steps,
               std::vector<model::SpeedPoint> speed_curve)
    : top_kmh_(engine.top_speed_kmh),
      speed_curve_(std::move(speed_curve)),
      sample_rate_hz_(sample_rate_hz),
      turns_per_frame_kmh_(
          1.0 / (3.6 * wheel_circumference_m(engine.driver_diameter_mm) * sample_rate_hz)),
      last_step_(model::last_step(speed_steps)),
      ahead_(speeds_of(straight_curve(speed_steps))),
      astern_(ahead_) {}

double Motion::speed_of_level(double level) const noexcept {
  if (speed_curve_.empty()) return level * top_kmh_;
  const double of_255 = level * full_level;
  model::SpeedPoint below;  // rest, before the first point
  for (const model::SpeedPoint& point : speed_curve_) {
    if (of_255 <= point.level) {
      const double span = point.level - below.level;
      if (span <= 0.0) return point.speed_kmh;
      const double share = (of_255 - below.level) / span;
      return below.speed_kmh + share * (point.speed_kmh - below.speed_kmh);
    }
    below.level = point.level;
    below.speed_kmh = point.speed_kmh;
  }
  return below.speed_kmh;
}

Motion::Speeds Motion::speeds_of(const ThrottleCurve& curve) const noexcept {
  Speeds made;
  const auto last = static_cast<std::size_t>(last_step_);
  for (std::size_t step = 0; step <= last; ++step)
    made.kmh[step] = speed_of_level(curve.level[step]);
  const auto bends_at = [&](std::size_t step) {
    const double bend = made.kmh[step + 1] - 2.0 * made.kmh[step] + made.kmh[step - 1];
    return std::abs(bend) > straight_enough * top_kmh_;
  };
  for (std::size_t step = 1; step < last; ++step) {
    made.line_start[step] = bends_at(step) ? static_cast<int>(step) : made.line_start[step - 1];
  }
  made.line_end[last - 1] = last_step_;
  for (std::size_t step = last - 1; step > 0; --step) {
    made.line_end[step - 1] = bends_at(step) ? static_cast<int>(step) : made.line_end[step];
  }
  return made;
}

void Motion::set_curves(const ThrottleCurve& forward, const ThrottleCurve& reverse) noexcept {
  ahead_ = speeds_of(forward);
  astern_ = speeds_of(reverse);
  curves_changed_ = true;
}

int Motion::end_step_of(const Controls& controls, double speed_kmh) const noexcept {
  const bool turning = controls.forward != forward_ && speed_kmh > 0.0;
  if (turning || controls.at_once || controls.brake > 0.0) return 0;
  if (controls.held && speed_kmh == 0.0) return 0;
  return static_cast<int>(controls.throttle_step * controls.pull);
}

double Motion::target_kmh(const Controls& controls, double speed_kmh) const noexcept {
  const bool turning = controls.forward != forward_ && speed_kmh > 0.0;
  const int step = end_step_of(controls, speed_kmh);
  return speeds(turning ? forward_ : controls.forward).kmh[static_cast<std::size_t>(step)];
}

const Motion::Piece& Motion::piece_at(double frames) const noexcept {
  std::size_t at = 0;
  while (at + 1 < piece_count_ && pieces_[at + 1].from_frames <= frames)
    ++at;
  return pieces_[at];
}

double Motion::speed_after(double frames) const noexcept {
  const Piece& piece = piece_at(frames);
  return std::max(0.0, piece.kmh + piece.slope * (frames - piece.from_frames));
}

double Motion::turns_after(double frames) const noexcept {
  const Piece& piece = piece_at(frames);
  const double passed = frames - piece.from_frames;
  return piece.turns + turns_per_frame_kmh_ * passed * (piece.kmh + 0.5 * piece.slope * passed);
}

double Motion::step_after(double frames) const noexcept {
  return frames >= ramp_frames() ? end_step_ : start_step_ + steps_a_frame_ * frames;
}

double Motion::speed_of_step(double step) const noexcept {
  const Speeds& curve = speeds(forward_);
  const int below = std::clamp(static_cast<int>(step), 0, last_step_ - 1);
  const double low = curve.kmh[static_cast<std::size_t>(below)];
  const double high = curve.kmh[static_cast<std::size_t>(below) + 1];
  return low + (step - below) * (high - low);
}

std::optional<double> Motion::step_of_speed(double kmh, double near) const noexcept {
  const Speeds& curve = speeds(forward_);
  std::optional<double> found;
  double distance = std::numeric_limits<double>::infinity();
  for (int below = 0; below < last_step_; ++below) {
    const double low = curve.kmh[static_cast<std::size_t>(below)];
    const double high = curve.kmh[static_cast<std::size_t>(below) + 1];
    if (kmh < std::min(low, high) || kmh > std::max(low, high)) continue;
    const double within =
        low == high ? std::clamp(near - below, 0.0, 1.0) : (kmh - low) / (high - low);
    if (const double away = std::abs(below + within - near); away < distance) {
      distance = away;
      found = below + within;
    }
  }
  return found;
}

double Motion::next_bend(double frame, double end) const noexcept {
  for (std::size_t at = 1; at < piece_count_; ++at) {
    const double bend = static_cast<double>(start_frame_) + pieces_[at].from_frames;
    if (bend > frame) return std::min(bend, end);
  }
  return end;
}

double Motion::speed_kmh(double frame) const noexcept {
  return speed_after(frame - static_cast<double>(start_frame_));
}

double Motion::turns(double frame) const noexcept {
  return static_cast<double>(whole_turns_) + turn_fraction_ +
         turns_after(frame - static_cast<double>(start_frame_));
}

void Motion::lay_pieces(double kmh) noexcept {
  const Speeds& curve = speeds(forward_);
  double step = start_step_;
  Piece piece;
  piece.kmh = kmh;
  piece_count_ = 0;
  while (step != end_step_) {
    const bool up = steps_a_frame_ > 0.0;
    const auto line = static_cast<std::size_t>(up ? std::floor(step) : std::ceil(step) - 1.0);
    const int to = up ? std::min(curve.line_end[line], end_step_)
                      : std::max(curve.line_start[line], end_step_);
    const double frames = (to - step) / steps_a_frame_;
    const double to_kmh = curve.kmh[static_cast<std::size_t>(to)];
    piece.slope = (to_kmh - piece.kmh) / frames;
    pieces_[piece_count_++] = piece;
    piece.turns += turns_per_frame_kmh_ * frames * 0.5 * (piece.kmh + to_kmh);
    piece.from_frames += frames;
    piece.kmh = to_kmh;
    step = to;
  }
  piece.kmh = curve.kmh[static_cast<std::size_t>(end_step_)];
  piece.slope = 0.0;
  pieces_[piece_count_++] = piece;
}

void Motion::plan(std::int64_t frame, const Controls& controls) noexcept {
  const auto passed = static_cast<double>(frame - start_frame_);
  double speed = speed_after(passed);
  double step = step_after(passed);
  const double run = turn_fraction_ + turns_after(passed);
  const double whole = std::floor(run);
  whole_turns_ += static_cast<std::int64_t>(whole);
  turn_fraction_ = run - whole;
  start_frame_ = frame;

  if (speed == 0.0 && forward_ != controls.forward) {
    forward_ = controls.forward;
    step = 0.0;
  } else if (curves_changed_) {
    if (const std::optional<double> same = step_of_speed(speed, step)) {
      step = *same;
    } else {
      speed = speed_of_step(step);
    }
  }
  curves_changed_ = false;
  end_step_ = controls.forward == forward_ ? end_step_of(controls, speed) : 0;

  const bool faster = end_step_ > step;
  const int rate =
      faster ? momentum_rate(controls.cvs.acceleration, controls.cvs.acceleration_adjustment)
             : momentum_rate(controls.cvs.deceleration, controls.cvs.deceleration_adjustment);
  const double factor = faster ? acceleration_factor(controls.load, controls.gradient_percent)
                               : deceleration_factor(controls.load, controls.gradient_percent);
  double sweep_s = rate * seconds_a_rate * factor * controls.momentum;
  if (faster) {
    sweep_s /= std::max(controls.pull, least_pull);
  } else if (controls.brake > 0.0) {
    const double braked_s = controls.full_brake_s * factor / controls.brake;
    const bool slows_anyway = controls.throttle_step < step && controls.coasting_factor <= 1.0;
    sweep_s = slows_anyway ? std::min(sweep_s, braked_s) : braked_s;
  } else {
    sweep_s *= controls.coasting_factor;
  }
  if (controls.at_once) sweep_s = 0.0;
  const double sweep_frames = sweep_s * sample_rate_hz_;
  start_step_ = sweep_frames == 0.0 ? end_step_ : step;
  steps_a_frame_ = sweep_frames == 0.0 ? 0.0 : (faster ? last_step_ : -last_step_) / sweep_frames;
  lay_pieces(speed);
}

std::optional<double> Motion::frames_until(std::int64_t whole_turns,
                                           double fraction) const noexcept {
  const double way = static_cast<double>(whole_turns - whole_turns_) + (fraction - turn_fraction_);
  if (way <= 0.0) return 0.0;
  for (std::size_t at = 0; at + 1 < piece_count_; ++at) {
    const Piece& piece = pieces_[at];
    const Piece& next = pieces_[at + 1];
    if (way > next.turns) continue;
    const double frames =
        piece.from_frames + time_of_turns(way - piece.turns, piece.kmh * turns_per_frame_kmh_,
                                          piece.slope * turns_per_frame_kmh_);
    return std::min(frames, next.from_frames);
  }
  const Piece& last = steady();
  if (last.kmh == 0.0) return std::nullopt;
  return last.from_frames + (way - last.turns) / (last.kmh * turns_per_frame_kmh_);
}

}  // namespace fourbeat::drive
