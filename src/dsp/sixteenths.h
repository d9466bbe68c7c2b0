// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>

namespace fourbeat::dsp {

/// Drifts are looked for in the levels, in dB, of a loop's sixteenths.
inline constexpr std::size_t sixteenths = 16;
using Sixteenths = std::array<double, sixteenths>;

/// A change by less than four times its standard error is none. Where one of several octaves may
/// change, chance has as many tries: six times.
inline constexpr double least_errors = 4.0;
inline constexpr double least_octave_errors = 6.0;
/// An octave so far under the strongest, in dB, is not heard.
inline constexpr double sounding_db = 40.0;

/// Sum of squares about the mean of [from, to); 0 of none.
[[nodiscard]] double sum_of_squares(const Sixteenths& values, std::size_t from, std::size_t to);

/// Values less others.
[[nodiscard]] Sixteenths less(const Sixteenths& values, const Sixteenths& others);

/// Least squares over the place in the loop, -1/2 to 1/2.
struct Line {
  double slope = 0.0;  ///< over the whole loop
  double rest = 0.0;   ///< sum of squares about it
  double error = 0.0;  ///< standard error of the slope
};
[[nodiscard]] Line line_through(const Sixteenths& values);

}  // namespace fourbeat::dsp
