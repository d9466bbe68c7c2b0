// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace fourbeat::dsp {

/// The parabola through points by least squares. The x are evenly spaced and counted from their
/// middle, so that the sums of their odd powers vanish; at least three points.
class Parabola {
 public:
  void add(double x, double y) {
    n_ += 1.0;
    s2_ += x * x;
    s4_ += x * x * x * x;
    y0_ += y;
    y1_ += x * y;
    y2_ += x * x * y;
  }
  /// Its value, slope and half its second derivative at x = 0.
  [[nodiscard]] double level() const { return (s4_ * y0_ - s2_ * y2_) / determinant(); }
  [[nodiscard]] double slope() const { return y1_ / s2_; }
  [[nodiscard]] double curve() const { return (n_ * y2_ - s2_ * y0_) / determinant(); }
  [[nodiscard]] double at(double x) const { return level() + slope() * x + curve() * x * x; }
  /// Variance of curve() for points that stray with a variance of 1.
  [[nodiscard]] double curve_variance() const { return n_ / determinant(); }

 private:
  [[nodiscard]] double determinant() const { return n_ * s4_ - s2_ * s2_; }

  double n_ = 0.0;
  double s2_ = 0.0;
  double s4_ = 0.0;
  double y0_ = 0.0;
  double y1_ = 0.0;
  double y2_ = 0.0;
};

}  // namespace fourbeat::dsp
