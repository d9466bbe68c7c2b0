// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/speed.h"

#include "turn_smoother.h"
#include "wheel_check.h"
#include "wheel_turns.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::dsp {

/// One stretch: its curve over the time at the engine, and when that was heard.
struct SpeedStretch {
  TurnCurve curve;
  std::vector<double> heard_s;  ///< one a knot

  [[nodiscard]] double at_engine_s(double heard) const {
    const auto after = std::upper_bound(heard_s.begin(), heard_s.end(), heard);
    if (after == heard_s.begin()) return curve.knots.front().time_s;
    if (after == heard_s.end()) return curve.knots.back().time_s;
    const auto i = static_cast<std::size_t>(after - heard_s.begin());
    const double part = (heard - heard_s[i - 1]) / (heard_s[i] - heard_s[i - 1]);
    const std::vector<TurnKnot>& knots = curve.knots;
    return knots[i - 1].time_s + part * (knots[i].time_s - knots[i - 1].time_s);
  }
};

namespace {

double spread_of(double variance) {
  return std::sqrt(std::max(0.0, variance));
}

/// When each beat left the engine, in place of when it was heard.
void take_delay_out(std::vector<TurnedBeat>& beats, const PassBy& pass_by) {
  for (TurnedBeat& beat : beats) {
    const double x = pass_by.metres_a_beat * (beat.turned - pass_by.turned_beats);
    const double way = std::sqrt(pass_by.distance_m * pass_by.distance_m + x * x);
    beat.time_s -= (way - pass_by.distance_m) / pass_by.sound_speed_m_s;
  }
}

std::vector<double> angles_of(const TurnCurve& curve, int beats_per_rev) {
  const auto n = static_cast<std::size_t>(beats_per_rev);
  std::vector<double> angles;
  for (std::size_t p = 0; p < n; ++p) {
    const double beats = static_cast<double>(p) + curve.place_offsets[p] - curve.place_offsets[0];
    angles.push_back(360.0 * beats / static_cast<double>(beats_per_rev));
  }
  return angles;
}

}  // namespace

std::optional<SpeedPoint> SpeedCurve::at(double time_s) const {
  for (const auto& stretch : stretches_) {
    if (time_s < stretch->heard_s.front() || time_s > stretch->heard_s.back()) continue;
    const TurnState state = state_at(stretch->curve, stretch->at_engine_s(time_s));
    const double n = beats_per_rev_;
    SpeedPoint point;
    point.time_s = time_s;
    point.turns_per_s = state.mean[1] / n;
    point.turns_per_s_sd = spread_of(state.cov[4]) / n;
    point.turns_per_s2 = state.mean[2] / n;
    point.turns_per_s2_sd = spread_of(state.cov[8]) / n;
    if (circumference_m_) {
      point.speed_kmh = kmh_of_m_s(point.turns_per_s * *circumference_m_);
      point.speed_sd_kmh = kmh_of_m_s(point.turns_per_s_sd * *circumference_m_);
      point.acceleration_m_s2 = point.turns_per_s2 * *circumference_m_;
      point.acceleration_sd_m_s2 = point.turns_per_s2_sd * *circumference_m_;
    }
    return point;
  }
  return std::nullopt;
}

std::vector<SpeedCurve::Span> SpeedCurve::spans() const {
  std::vector<Span> all;
  for (const auto& stretch : stretches_)
    all.push_back({stretch->heard_s.front(), stretch->heard_s.back()});
  return all;
}

std::vector<SpeedPoint> SpeedCurve::points(double step_s) const {
  std::vector<SpeedPoint> all;
  for (const Span& span : spans()) {
    const auto steps = static_cast<std::size_t>((span.to_s - span.from_s) / step_s);
    for (std::size_t i = 0; i <= steps; ++i)
      all.push_back(*at(std::min(span.to_s, span.from_s + static_cast<double>(i) * step_s)));
    if (all.back().time_s < span.to_s) all.push_back(*at(span.to_s));
  }
  return all;
}

Result<SpeedCurve> measure_speed(const BeatTrack& track, const WheelParams& wheel,
                                 const std::optional<PassBy>& pass_by) {
  if (const Status status = check_wheel(wheel); !status) return status.error();
  SpeedCurve speed;
  speed.beats_per_rev_ = wheel.beats_per_rev;
  if (wheel.driver_diameter_mm)
    speed.circumference_m_ = wheel_circumference_m(*wheel.driver_diameter_mm);
  std::size_t longest = 0;
  for (const BeatStretch& run : track.stretches) {
    std::vector<TurnedBeat> beats =
        turned_beats(track, run, wheel.beats_per_rev, wheel.beat_angles_deg);
    std::vector<TurnedBeat> emitted = beats;
    if (pass_by && pass_by->range == run.range) take_delay_out(emitted, *pass_by);
    SpeedStretch stretch;
    stretch.curve =
        smooth_turns(emitted, wheel.beats_per_rev, wheel.beat_angles_deg.empty(), run.fused);
    if (stretch.curve.knots.empty()) continue;
    // Knots are the heard beats, in order.
    std::size_t knot = 0;
    for (std::size_t i = 0; i < emitted.size() && knot < stretch.curve.knots.size(); ++i) {
      if (!emitted[i].heard || emitted[i].time_s != stretch.curve.knots[knot].time_s) continue;
      stretch.heard_s.push_back(beats[i].time_s);
      ++knot;
    }
    if (stretch.curve.knots.size() > longest) {
      longest = stretch.curve.knots.size();
      speed.angles_deg_ = stretch.curve.offsets_measured
                              ? angles_of(stretch.curve, wheel.beats_per_rev)
                              : std::vector<double>{};
    }
    speed.stretches_.push_back(std::make_shared<const SpeedStretch>(std::move(stretch)));
  }
  return speed;
}

}  // namespace fourbeat::dsp
