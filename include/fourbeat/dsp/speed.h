// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/pass_by.h"

#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::dsp {

struct SpeedStretch;

/// Speed at one moment, each figure with one standard deviation. The last four are there when a
/// driver diameter is known.
struct SpeedPoint {
  double time_s = 0.0;
  double turns_per_s = 0.0;
  double turns_per_s_sd = 0.0;
  double turns_per_s2 = 0.0;
  double turns_per_s2_sd = 0.0;
  std::optional<double> speed_kmh;
  std::optional<double> speed_sd_kmh;
  std::optional<double> acceleration_m_s2;
  std::optional<double> acceleration_sd_m_s2;
};

/// A smooth speed over the stretches of a beat track; a value, cheap to copy.
class SpeedCurve {
 public:
  SpeedCurve() = default;

  /// Speed at a time of the take; none where no stretch of beats is. O(log beats).
  [[nodiscard]] std::optional<SpeedPoint> at(double time_s) const;
  /// The time from which to which at() answers, one entry a stretch, ascending.
  struct Span {
    double from_s = 0.0;
    double to_s = 0.0;
  };
  [[nodiscard]] std::vector<Span> spans() const;
  /// Points every step_s from the start of each span on, and its end. step_s > 0.
  [[nodiscard]] std::vector<SpeedPoint> points(double step_s) const;
  /// Where each place's beat falls, as measured in the longest stretch: degrees of the revolution,
  /// from place 0; empty where angles were given or under 8 revolutions were heard. Places are
  /// the track's positions where it has them.
  [[nodiscard]] const std::vector<double>& measured_angles_deg() const { return angles_deg_; }

 private:
  friend Result<SpeedCurve> measure_speed(const BeatTrack& track, const WheelParams& wheel,
                                          const std::optional<PassBy>& pass_by);
  std::vector<std::shared_ptr<const SpeedStretch>> stretches_;
  std::vector<double> angles_deg_;
  int beats_per_rev_ = 4;
  std::optional<double> circumference_m_;
};

/// Measures the smooth speed of a wheel from its beats: the wheel's turning over each stretch of at
/// least 3 beats by a Kalman smoother (Rauch, Tung and Striebel, AIAA Journal 3, 1965) whose two
/// laws, how the acceleration wanders and how a beat strays, are the most probable for the stretch.
/// Uneven beat angles are taken out: the given ones where the track has positions, else measured
/// ones. A beat too many, too few or far off its place is found and counts for nothing or little.
/// Where beats fuse, all within 1.28 s count as one. pass_by: the Doppler shift of its stretch is
/// taken out, so that the speed is the engine's own. Errors: bad_argument (wheel out of range).
/// Cost: linear in the beats.
[[nodiscard]] Result<SpeedCurve> measure_speed(const BeatTrack& track, const WheelParams& wheel,
                                               const std::optional<PassBy>& pass_by = std::nullopt);

}  // namespace fourbeat::dsp
