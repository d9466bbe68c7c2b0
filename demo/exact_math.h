// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <bit>
#include <cmath>
#include <cstdint>

/// Sine, powers and decays from additions and multiplications alone, so that samples made with
/// them are the same on every x86-64 processor whatever the C library picks at run time.
/// Absolute error against the true values: under 1e-8 (sine) and relative 1e-8 (powers).

namespace fourbeat::demo {

/// sin(2 pi × turns), any finite argument below 2^51 in magnitude.
/// Taylor's series to the 13th power after folding into a quarter turn.
[[nodiscard]] inline double sine_turns(double turns) {
  double t = turns - std::floor(turns + 0.5);
  if (t > 0.25) t = 0.5 - t;
  if (t < -0.25) t = -0.5 - t;
  const double x = t * 6.283185307179586;
  const double y = x * x;
  const double series =
      1.0 + y * (-1.0 / 6.0 +
                 y * (1.0 / 120.0 +
                      y * (-1.0 / 5040.0 + y * (1.0 / 362880.0 + y * (-1.0 / 39916800.0 +
                                                                      y * (1.0 / 6227020800.0))))));
  return x * series;
}

/// cos(2 pi × turns), as sine_turns().
[[nodiscard]] inline double cosine_turns(double turns) {
  return sine_turns(turns + 0.25);
}

/// 2^x for -1000 < x < 1000. Taylor's series on the fraction, the whole part by its exponent.
[[nodiscard]] inline double power_of_two(double x) {
  const double whole = std::floor(x + 0.5);
  const double f = (x - whole) * 0.6931471805599453;
  const double series =
      1.0 +
      f * (1.0 +
           f * (1.0 / 2.0 +
                f * (1.0 / 6.0 +
                     f * (1.0 / 24.0 +
                          f * (1.0 / 120.0 +
                               f * (1.0 / 720.0 + f * (1.0 / 5040.0 + f * (1.0 / 40320.0))))))));
  const auto exponent = static_cast<std::uint64_t>(static_cast<std::int64_t>(whole) + 1023);
  return series * std::bit_cast<double>(exponent << 52U);
}

/// Amplitude ratio of a gain in dB.
[[nodiscard]] inline double exact_gain_of_db(double gain_db) {
  return power_of_two(gain_db * 0.16609640474436813);
}

/// The factor that, applied once a frame, lets an amplitude fall by 1/e in `tau_s` > 0.
[[nodiscard]] inline double decay_per_frame(double tau_s, double sample_rate_hz) {
  return power_of_two(-1.4426950408889634 / (tau_s * sample_rate_hz));
}

/// Ratio of two frequencies `cents` apart.
[[nodiscard]] inline double ratio_of_cents(double cents) {
  return power_of_two(cents / 1200.0);
}

}  // namespace fourbeat::demo
