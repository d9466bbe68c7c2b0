// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "wheel_turns.h"

#include <array>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Turned angle, rate and its change, in beats, beats/s and beats/s², with their covariance.
struct TurnState {
  std::array<double, 3> mean{};
  std::array<double, 9> cov{};  ///< by rows, symmetric
};

/// What is known at one beat: from the beats up to it, and from all.
struct TurnKnot {
  double time_s = 0.0;
  double turned = 0.0;    ///< where the beat stands, its place's offset taken out, in beats
  double sigma = 0.0;     ///< standard deviation of that; large where the beat strays
  double weight = 1.0;    ///< of its variance, for straying
  double level_db = 0.0;  ///< as TurnedBeat
  TurnState filtered;
  TurnState smoothed;
};

/// A stretch's wheel as a smooth motion.
struct TurnCurve {
  std::vector<TurnKnot> knots;  ///< ascending in time, at least 3
  double jerk_density = 0.0;  ///< beats²/s⁵: spectral density of the noise that drives the rate
  double noise = 0.0;         ///< of a beat's place, over 1 % of a beat and 2 ms together
  bool offsets_measured = false;
  std::vector<double> place_offsets;  ///< how late each place's beat comes, in beats; mean 0
};

/// The state at a time within the knots: from the knot before it on, and back from the one after.
[[nodiscard]] TurnState state_at(const TurnCurve& curve, double time_s);

/// Smooths the turning of a wheel over the beats of one stretch.
///
/// A wheel whose rate is driven by white jerk, seen at each beat through noise: a Kalman filter and
/// the smoother of Rauch, Tung and Striebel (AIAA Journal 3, 1965), equivalent to a smoothing
/// spline (Wecker and Ansley, J. Am. Stat. Assoc. 78, 1983). How much the rate wanders and how much
/// a beat strays are the most probable for this stretch, under wide priors. A beat that strays far
/// counts little: noise of Student's t, 5 degrees of freedom (Lange, Little and Taylor, J. Am.
/// Stat. Assoc. 84, 1989). measure_offsets: where each place's beat falls is measured too, given
/// eight revolutions. fused: the beats come from the phase of their rate over windows of 1.28 s
/// (beat_fused.h), so all of one window tell as much as one, and no less than the usual noise is
/// believed.
/// Fewer than 3 heard beats, or none of any length: no knots. Cost: linear in the beats.
[[nodiscard]] TurnCurve smooth_turns(std::span<const TurnedBeat> beats, int beats_per_rev,
                                     bool measure_offsets, bool fused);

/// How improbable the beats of `knots` are as a smooth motion, had they come at other times (one a
/// knot, rising): twice the negative logarithm of their density, to a constant, at the most
/// probable laws, each beat as sure of its place as in `knots`.
[[nodiscard]] double motion_cost(std::span<const TurnKnot> knots, std::span<const double> times_s,
                                 bool fused);

}  // namespace fourbeat::dsp
