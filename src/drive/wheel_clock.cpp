// SPDX-License-Identifier: GPL-3.0-or-later
#include "wheel_clock.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/drive/engine.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::drive {

namespace {

// Of a pulse's share of a turn: a beat this near to a pulse is on it.
constexpr double on_a_pulse = 1e-9;

std::optional<Moment> before_next_grid(const Moment& moment, std::int64_t grid) noexcept {
  if (moment.since(grid) >= control_grid_frames) return std::nullopt;
  return moment;
}

}  // namespace

std::int64_t Moment::nearest_frame() const {
  return frame + frame_of_beat(after);
}

void SlipTurns::start(std::int64_t frame, double peak, double rise, double hold,
                      double fall) noexcept {
  before_ = turns(static_cast<double>(frame));
  started_ = true;
  start_ = frame;
  peak_ = peak;
  rise_ = rise;
  hold_ = hold;
  fall_ = fall;
}

double SlipTurns::turns(double frame) const noexcept {
  if (!started_) return 0.0;
  const double passed = std::max(0.0, frame - static_cast<double>(start_));
  const double up = std::min(passed, rise_);
  const double level = std::clamp(passed - rise_, 0.0, hold_);
  const double down = std::clamp(passed - rise_ - hold_, 0.0, fall_);
  return before_ + peak_ * (0.5 * up * up / rise_ + level + down - 0.5 * down * down / fall_);
}

double SlipTurns::turns_a_frame(double frame) const noexcept {
  const double passed = frame - static_cast<double>(start_);
  if (!started_ || passed < 0.0 || passed >= rise_ + hold_ + fall_) return 0.0;
  return peak_ * std::min({1.0, passed / rise_, (rise_ + hold_ + fall_ - passed) / fall_});
}

double SlipTurns::next_bend(double frame, double end) const noexcept {
  if (!started_) return end;
  const auto start = static_cast<double>(start_);
  for (const double bend :
       {start, start + rise_, start + rise_ + hold_, start + rise_ + hold_ + fall_}) {
    if (bend > frame && bend < end) return bend;
  }
  return end;
}

double WheelClock::rim_kmh(double frame) const noexcept {
  return motion_.speed_kmh(frame) + slip.turns_a_frame(frame) / motion_.turns_per_frame_kmh();
}

std::optional<Moment> WheelClock::search(std::int64_t whole, double fraction,
                                         std::int64_t grid) const noexcept {
  const double end = static_cast<double>(grid) + control_grid_frames;
  double from = static_cast<double>(grid);
  while (from < end) {
    const double to = slip.next_bend(from, motion_.next_bend(from, end));
    const double way = static_cast<double>(whole) + fraction - turns(from);
    if (way <= 0.0) return Moment{grid, from - static_cast<double>(grid)};
    if (turns(to) - turns(from) >= way) {
      // Between bends both speeds are straight lines of time.
      const double per_kmh = motion_.turns_per_frame_kmh();
      const double length = to - from;
      const double middle = 0.5 * (from + to);
      const double at_middle = motion_.speed_kmh(middle) * per_kmh + slip.turns_a_frame(middle);
      const double at_start = motion_.speed_kmh(from) * per_kmh + slip.turns_a_frame(from);
      const double slope = 2.0 * (at_middle - at_start) / length;
      return Moment{grid, from - static_cast<double>(grid) + time_of_turns(way, at_start, slope)};
    }
    from = to;
  }
  return std::nullopt;
}

std::optional<Moment> WheelClock::moment_of(std::int64_t whole, double fraction,
                                            std::int64_t grid) const noexcept {
  if (slip.active(grid)) return search(whole, fraction, grid);
  const auto frames = motion_.frames_until(whole, fraction - slip.turns(static_cast<double>(grid)));
  if (!frames) return std::nullopt;
  return before_next_grid({motion_.plan_frame(), *frames}, grid);
}

std::optional<Moment> WheelClock::moment_of_way(double turns, std::int64_t grid) const noexcept {
  const auto frames = motion_.frames_until(0, turns);
  if (!frames) return std::nullopt;
  return before_next_grid({motion_.plan_frame(), *frames}, grid);
}

BeatClock::BeatClock(const CompiledSet& set, const WheelClock& wheel) : set_(set), wheel_(wheel) {
  if (set.beat_turns.front() == 0.0) skip();  // standing on it is not reaching it
}

void BeatClock::skip() noexcept {
  if (++position_ == set_.beat_turns.size()) {
    position_ = 0;
    ++turn_;
  }
}

void BeatClock::set_error(double percent, std::int64_t frame) noexcept {
  if (set_.driving.sync.kind != model::SyncKind::calculated) return;
  const double made = wheel_.turns(static_cast<double>(frame));
  const double counted = (made - zero_) * scale_;
  scale_ = 1.0 + percent / 100.0;
  zero_ = made - counted / scale_;
}

std::optional<Moment> BeatClock::sensed(std::int64_t grid) noexcept {
  const auto pulses = static_cast<double>(set_.driving.sync.pulses_per_turn);
  const double place =
      (static_cast<double>(turn_) + set_.beat_turns[position_]) * pulses;  // in pulses
  const auto of_pulse = static_cast<std::int64_t>(std::floor(place + on_a_pulse));
  while (true) {
    const auto pulse = wheel_.moment_of(0, static_cast<double>(pulse_) / pulses, grid);
    if (of_pulse < pulse_) {
      const double share = place - static_cast<double>(of_pulse);
      std::optional<Moment> due;
      if (of_pulse < pulse_ - 1 || share <= on_a_pulse) {
        due = last_pulse_;
      } else if (interval_known_) {
        due = Moment{last_pulse_.frame, last_pulse_.after + share * interval_};
      }
      if (pulse && (!due || pulse->since(grid) < due->since(grid))) due = pulse;
      if (!due) return std::nullopt;
      return before_next_grid(*due, grid);
    }
    if (!pulse) return std::nullopt;
    interval_ = pulse->since(last_pulse_.frame) - last_pulse_.after;
    interval_known_ = !rested_;
    rested_ = false;
    last_pulse_ = *pulse;
    ++pulse_;
  }
}

std::optional<Moment> BeatClock::moment(std::int64_t grid) noexcept {
  if (set_.driving.sync.kind == model::SyncKind::sensor) return sensed(grid);
  const double fraction = set_.beat_turns[position_];
  if (scale_ == 1.0 && zero_ == 0.0) return wheel_.moment_of(turn_, fraction, grid);
  const double count = static_cast<double>(turn_) + fraction;
  return wheel_.moment_of(0, zero_ + count / scale_, grid);
}

BeatClock::Beat BeatClock::next(std::int64_t grid) noexcept {
  const std::optional<Moment> at = moment(grid);
  if (!at) return {};
  Beat beat;
  beat.due = true;
  beat.frame = at->nearest_frame();
  const double moment = static_cast<double>(at->frame) + at->after;
  beat.speed_kmh = wheel_.rim_kmh(moment);
  beat.turns = wheel_.turns(moment);
  return beat;
}

}  // namespace fourbeat::drive
