// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"
#include "fourbeat/base/wheel.h"
#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/speed.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <functional>
#include <vector>

namespace fourbeat::tests {

/// A run of which way, speed and beats are known, heard by one microphone.
struct WheelRun {
  double driver_diameter_mm = 1500.0;
  std::vector<double> angles_deg{0.0, 90.0, 180.0, 270.0};
  double seconds = 40.0;
  std::function<double(double)> speed_m_s = [](double) { return 10.0; };
  double angle_sigma_deg = 0.0;
  double time_sigma_s = 0.0;
  std::uint64_t seed = 1;
  double sample_rate_hz = 48000.0;
  bool with_positions = true;
  /// When what left the engine after x metres at a time is heard.
  std::function<double(double, double)> heard_s = [](double time_s, double) { return time_s; };
  /// Amplitude of a beat that left the engine after x metres, 0 to 1, and its spread.
  std::function<double(double)> strength = [](double) { return 0.8; };
  double level_sigma_db = 1.5;
};

/// The beats of a run, one stretch, at the times they are heard.
inline dsp::BeatTrack beats_of(const WheelRun& run) {
  Random random(run.seed);
  const double circumference_m = wheel_circumference_m(run.driver_diameter_mm);
  dsp::BeatTrack track;
  constexpr double tick_s = 0.0005;
  double way_m = 0.0;
  double target_m = -1.0;
  std::size_t place = 0;
  double turn = 0.0;
  const auto next_target = [&] {
    const double angle = run.angles_deg[place] + run.angle_sigma_deg * random.normal();
    target_m = circumference_m * (turn + angle / 360.0);
  };
  next_target();
  const auto ticks = static_cast<std::size_t>(run.seconds / tick_s);
  for (std::size_t tick = 0; tick < ticks; ++tick) {
    const double time_s = static_cast<double>(tick) * tick_s;
    const double before_m = way_m;
    way_m += 0.5 * (run.speed_m_s(time_s) + run.speed_m_s(time_s + tick_s)) * tick_s;
    if (!(way_m > target_m)) continue;
    const double part = way_m > before_m ? (target_m - before_m) / (way_m - before_m) : 0.0;
    const double left_s = time_s + std::clamp(part, 0.0, 1.0) * tick_s;
    dsp::Beat beat;
    beat.time_s = 1.0 + run.heard_s(left_s, target_m) + run.time_sigma_s * random.normal();
    beat.frame = FrameIndex(std::llround(beat.time_s * run.sample_rate_hz));
    beat.time_s = static_cast<double>(beat.frame.value()) / run.sample_rate_hz;
    beat.confidence = 1.0;
    beat.strength = std::clamp(
        run.strength(target_m) * gain_of_db(run.level_sigma_db * random.normal()), 0.0, 1.0);
    if (run.with_positions) beat.position = static_cast<int>(place);
    if (track.beats.empty() || beat.frame > track.beats.back().frame) track.beats.push_back(beat);
    if (++place == run.angles_deg.size()) {
      place = 0;
      turn += 1.0;
    }
    next_target();
  }
  if (track.beats.size() > 1) {
    dsp::BeatStretch stretch;
    stretch.range = {track.beats.front().frame, track.beats.back().frame + FrameCount(1)};
    const auto middle = track.beats.size() / 2;
    stretch.median_interval_s = track.beats[middle].time_s - track.beats[middle - 1].time_s;
    track.stretches.push_back(stretch);
  }
  return track;
}

/// What the engine's figures say of such a run's wheel.
inline dsp::WheelParams wheel_of(const WheelRun& run) {
  dsp::WheelParams wheel;
  wheel.driver_diameter_mm = run.driver_diameter_mm;
  wheel.beats_per_rev = static_cast<int>(run.angles_deg.size());
  return wheel;
}

/// Has the run heard from beside the line, `distance_m` off, nearest after `nearest_m` metres: its
/// beats come later and fainter the farther they are.
inline void hear_from_lineside(WheelRun& run, double distance_m, double nearest_m,
                               double sound_m_s) {
  const auto way_of_sound_m = [=](double way_m) {
    const double x = way_m - nearest_m;
    return std::sqrt(distance_m * distance_m + x * x);
  };
  run.heard_s = [=](double time_s, double way_m) {
    return time_s + way_of_sound_m(way_m) / sound_m_s;
  };
  run.strength = [=](double way_m) { return 0.8 * distance_m / way_of_sound_m(way_m); };
}

}  // namespace fourbeat::tests
