// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "level_histogram.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/audio/take_report.h"

#include <array>
#include <vector>

namespace fourbeat::audio {

/// Hum and wind of one channel, from its band under 700 Hz at a rate of about 2 to 4 kHz.
///
/// Hum: power spectra of Hann windows of 4 s, averaged, at the multiples of 50 and 60 Hz (the
/// first ten) and of 16.7 Hz (the first six that do not fall on those), each as the strongest of
/// five points within half a hertz (mains are not exact), over the mean of points 2 to 10 Hz to
/// both sides.
/// Wind: turbulence at a microphone is a low rumble that comes in gusts. The band from 5 to 40 Hz
/// in frames of 0.5 s; its gusting share is 1 - median / mean of the frames' power, near 0 for a
/// steady rumble. wind_db is the band's mean power times that share, over the power of all else.
class LowBand {
 public:
  explicit LowBand(double sample_rate_hz);
  void add(MonoView block);
  /// Fills in hum_hz, hum_db and wind_db; `power` is the channel's whole mean power.
  void report(double power, ChannelReport& into) const;

 private:
  struct Section {
    double b0, b1, b2, a1, a2;
    double m1 = 0.0, m2 = 0.0;
    double next(double x);
  };
  static Section low_pass(double corner_hz, double q, double rate_hz);
  static Section high_pass(double corner_hz, double q, double rate_hz);
  void add_reduced(double sample);
  void end_of_window();

  // Reduction: the mean of coarse_ samples, then every fine_-th output of a windowed sinc.
  std::size_t coarse_ = 1;
  std::size_t fine_ = 1;
  double rate_hz_ = 0.0;
  std::size_t in_mean_ = 0;
  double mean_sum_ = 0.0;
  std::vector<double> taps_;
  std::vector<double> line_;
  std::size_t until_output_ = 0;

  // Hum.
  std::vector<double> window_;       ///< Hann
  std::vector<double> samples_;      ///< of the window being filled
  std::vector<double> point_hz_;     ///< all points of all lines, line after line
  std::vector<double> turn_;         ///< 2 cos of each point's angle
  std::vector<double> point_power_;  ///< summed over windows
  std::vector<double> s1_;
  std::vector<double> s2_;
  std::vector<double> line_hz_;
  std::int64_t windows_ = 0;

  // Wind.
  std::array<Section, 3> wind_filter_;
  std::size_t wind_frame_ = 1;
  std::size_t in_wind_frame_ = 0;
  double wind_sum_ = 0.0;
  double wind_total_ = 0.0;
  LevelHistogram wind_frames_;
};

}  // namespace fourbeat::audio
