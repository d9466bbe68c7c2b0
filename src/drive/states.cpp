// SPDX-License-Identifier: GPL-3.0-or-later
#include "states.h"

#include <algorithm>

namespace fourbeat::drive {

namespace {

using model::State;

State wanted_state(const Situation& now) noexcept {
  if (!now.powered) return State::no_power;
  if (!now.awake) return State::asleep;
  if (now.speed_kmh == 0.0) return now.goal_kmh > 0.0 ? State::starting : State::standing;
  if (now.braked) return State::braking;
  if (now.goal_kmh == 0.0) return State::stopping;
  if (now.turns_since_rest < 1.0) return State::starting;
  if (now.effort == model::Effort::drifting) return State::coasting;
  return State::working;
}

/// Rest, power and sleep are facts: what goes into them or out of them does so at once.
bool is_fact(State state) noexcept {
  return state == State::standing || state == State::asleep || state == State::no_power;
}

bool asks_for(const model::OwnState& own, const Situation& now, State state, bool lasting) {
  const double slack_kmh = lasting ? own.hysteresis_kmh : 0.0;
  if (!own.during.empty() &&
      std::find(own.during.begin(), own.during.end(), state) == own.during.end()) {
    return false;
  }
  if (own.effort && *own.effort != now.effort) return false;
  if (own.from_kmh && now.speed_kmh < *own.from_kmh - slack_kmh) return false;
  return !own.below_kmh || now.speed_kmh < *own.below_kmh + slack_kmh;
}

}  // namespace

StateJudge::StateJudge(double hold_s, int sample_rate_hz)
    : hold_frames_(static_cast<std::int64_t>(hold_s * sample_rate_hz)),
      changed_frame_(-hold_frames_) {}

State StateJudge::update(const Situation& now) noexcept {
  const State next = wanted_state(now);
  if (next == state_) return state_;
  if (!is_fact(next) && !is_fact(state_) && now.frame - changed_frame_ < hold_frames_) {
    return state_;
  }
  state_ = next;
  changed_frame_ = now.frame;
  return state_;
}

OwnStates::OwnStates(std::size_t count, int sample_rate_hz)
    : sample_rate_hz_(sample_rate_hz), clocks_(count) {}

std::uint64_t OwnStates::update(std::span<const model::OwnState> states, const Situation& now,
                                State state) noexcept {
  for (std::size_t i = 0; i < states.size(); ++i) {
    const model::OwnState& own = states[i];
    Clock& clock = clocks_[i];
    const std::uint64_t bit = std::uint64_t{1} << i;
    const bool lasting = (in_force_ & bit) != 0;
    const auto frames = [&](double seconds) {
      return static_cast<std::int64_t>(seconds * sample_rate_hz_);
    };
    if (!asks_for(own, now, state, lasting)) {
      clock.held_from = none;
      if (lasting && now.frame - clock.entered >= frames(own.hold_s)) in_force_ &= ~bit;
      continue;
    }
    if (clock.held_from == none) clock.held_from = now.frame;
    if (!lasting && now.frame - clock.held_from >= frames(own.after_s)) {
      in_force_ |= bit;
      clock.entered = now.frame;
    }
  }
  return in_force_;
}

bool in_force(const ImageWhen& when, State state, std::uint64_t own_states,
              const CvBank& cvs) noexcept {
  if (when.option_cv != 0 && cvs.get(when.option_cv, 0) != when.option_value) return false;
  if (when.states == 0 && when.own_states == 0) return true;
  return (when.states & (1U << static_cast<unsigned>(state))) != 0 ||
         (when.own_states & own_states) != 0;
}

}  // namespace fourbeat::drive
