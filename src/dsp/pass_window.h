// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <numeric>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Highest degree of the polynomials that a motion without Doppler may take.
inline constexpr std::size_t pass_free_degree = 5;

/// A beat: how far the wheel has turned, when it was heard, how surely.
struct HeardBeat {
  double turned = 0.0;
  double time_s = 0.0;
  double weight = 0.0;    ///< one over the standard deviation of the time
  double level_db = 0.0;  ///< as TurnedBeat
};

/// Weighted orthonormal polynomials over the beats of a window, and the times with those taken out.
class PassWindow {
 public:
  PassWindow(std::span<const HeardBeat> beats, double sound_speed_m_s);

  [[nodiscard]] std::size_t size() const { return beats_.size(); }
  [[nodiscard]] const HeardBeat& front() const { return beats_.front(); }
  [[nodiscard]] const HeardBeat& back() const { return beats_.back(); }
  [[nodiscard]] double turned(std::size_t i) const { return beats_[i].turned; }
  [[nodiscard]] double level_db(std::size_t i) const { return beats_[i].level_db; }
  /// When a place between the first beat and the last was heard.
  [[nodiscard]] double heard_at(double turned) const;

  /// What is left of weighted times after a polynomial of `degree`.
  [[nodiscard]] std::vector<double> rest(std::vector<double> values, std::size_t degree) const {
    for (std::size_t k = 0; k <= degree; ++k)
      take_out(columns_[k], values);
    return values;
  }
  [[nodiscard]] const std::vector<double>& times() const { return times_; }

  /// Weighted time that sound is under way.
  [[nodiscard]] std::vector<double> under_way(double turned, double distance_m,
                                              double metres_a_beat) const;

  /// Slope of the fitted polynomial of `values` (weighted times) at `turned`, seconds a beat.
  [[nodiscard]] double slope(const std::vector<double>& values, std::size_t degree,
                             double turned) const;

  /// Variance of that slope where the weighted values have variance 1.
  [[nodiscard]] double slope_variance(std::size_t degree, double turned) const;

  static double dot(const std::vector<double>& a, const std::vector<double>& b) {
    return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
  }

 private:
  static void take_out(const std::vector<double>& column, std::vector<double>& values) {
    const double share = dot(column, values);
    for (std::size_t i = 0; i < values.size(); ++i)
      values[i] -= share * column[i];
  }

  std::span<const HeardBeat> beats_;
  double sound_speed_m_s_;
  std::vector<std::vector<double>> columns_;
  std::vector<double> times_;
};

}  // namespace fourbeat::dsp
