// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

namespace fourbeat::work {

/// A figure measured at a speed.
struct TrendPoint {
  double speed_kmh = 0.0;  ///< over 0
  double value = 0.0;
  std::size_t take = 0;  ///< which take it comes from, by any numbering
};

/// How a figure follows speed: a polynomial of the logarithm of speed, of the least squares over
/// all points, each take allowed an offset of its own (recorder gain, distance) that is held
/// towards 0 (ridge regression, Hoerl and Kennard, Technometrics 12, 1970). Outside the speeds
/// measured it goes on as the straight line through all points does, ever less: by no more than
/// that line changes over the speeds measured, or over an octave where they span more.
class SpeedTrend {
 public:
  /// degree: 0 to 2, lowered where there are too few distinct speeds. No points: 0 everywhere.
  SpeedTrend(const std::vector<TrendPoint>& points, int degree);
  [[nodiscard]] double at(double speed_kmh) const;
  /// How far a speed lies outside those measured; 0 among them.
  [[nodiscard]] double octaves_outside(double speed_kmh) const;

 private:
  [[nodiscard]] double place_of(double speed_kmh) const;

  double origin_kmh_ = 1.0;
  double low_ = 0.0;  // of the logarithm, over the origin
  double high_ = 0.0;
  std::vector<double> coefficients_{0.0};
  double slope_outside_ = 0.0;
};

}  // namespace fourbeat::work
