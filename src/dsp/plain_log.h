// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <bit>
#include <cstdint>

namespace fourbeat::dsp {

/// log2 by basic arithmetic alone, so that every processor gives the same bits. x: positive and
/// normal. Error under 1e-6. From atanh's series on the mantissa in [sqrt(1/2), sqrt(2)).
inline double plain_log2(double x) {
  constexpr std::uint64_t mantissa_mask = 0x000FFFFFFFFFFFFFULL;
  constexpr std::uint64_t one_bits = 0x3FF0000000000000ULL;
  const auto bits = std::bit_cast<std::uint64_t>(x);
  auto exponent = static_cast<double>(static_cast<std::int64_t>(bits >> 52U) - 1023);
  auto mantissa = std::bit_cast<double>((bits & mantissa_mask) | one_bits);
  if (mantissa > 1.4142135623730951) {
    mantissa *= 0.5;
    exponent += 1.0;
  }
  const double s = (mantissa - 1.0) / (mantissa + 1.0);
  const double q = s * s;
  // 2 / ln 2 × (s + s³/3 + s⁵/5 + …)
  const double series = s * (1.0 + q * (1.0 / 3 + q * (1.0 / 5 + q * (1.0 / 7 + q * (1.0 / 9)))));
  return exponent + 2.885390081777927 * series;
}

inline double plain_ln(double x) {
  return plain_log2(x) * 0.6931471805599453;
}

/// 10 × log10 of a power.
inline double plain_db(double power) {
  return plain_log2(power) * 3.010299956639812;
}

/// exp by basic arithmetic alone. x: -700 to 700. Relative error under 1e-14.
inline double plain_exp(double x) {
  const double scaled = x * 1.4426950408889634;
  const auto whole = static_cast<std::int64_t>(scaled + (scaled < 0.0 ? -0.5 : 0.5));
  const double rest = x - static_cast<double>(whole) * 0.6931471805599453;
  double sum = 1.0;
  for (int k = 16; k > 0; --k)
    sum = 1.0 + sum * rest / k;
  const auto power = std::bit_cast<double>(static_cast<std::uint64_t>(whole + 1023) << 52U);
  return sum * power;
}

}  // namespace fourbeat::dsp
