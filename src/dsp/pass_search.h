// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "pass_window.h"

#include <cstddef>
#include <limits>
#include <optional>
#include <vector>

namespace fourbeat::dsp {

inline constexpr double smallest_driver_mm = 1000.0;
inline constexpr double largest_driver_mm = 2150.0;

/// Where and how the engine passes: the parameters that are fitted by search.
struct Passing {
  double turned = 0.0;
  double ln_distance = 0.0;
  double ln_metres = 0.0;  ///< road a beat covers
};

/// A passing with polynomials of a degree; squares: what it leaves, weighted.
struct PassingFit {
  Passing passing;
  std::size_t degree = 0;
  double squares = std::numeric_limits<double>::max();
};

/// The passing that fits a window best: a grid, then a compass search.
class PassingSearch {
 public:
  /// metres_a_beat: none: searched for among drivers of 1000 to 2150 mm (met on railways; common
  /// practice, no source). usual_metres: road a beat covers for each mm of driver.
  PassingSearch(const PassWindow& window, std::optional<double> metres_a_beat, double usual_metres)
      : window_(window), metres_a_beat_(metres_a_beat), usual_metres_(usual_metres) {}

  [[nodiscard]] PassingFit best(std::size_t degree) const;

  /// Weighted residuals of a passing.
  [[nodiscard]] std::vector<double> residuals(const Passing& p, std::size_t degree) const;
  /// Weighted time that sound is under way.
  [[nodiscard]] std::vector<double> under_way(const Passing& p) const;

 private:
  [[nodiscard]] std::vector<double> metres_tried() const;

  bool consider(const Passing& p, std::size_t degree, const std::vector<double>& times,
                PassingFit& fit) const;

  const PassWindow& window_;
  std::optional<double> metres_a_beat_;
  double usual_metres_;
};

}  // namespace fourbeat::dsp
