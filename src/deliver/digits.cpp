// SPDX-License-Identifier: GPL-3.0-or-later
#include "digits.h"

#include <fmt/format.h>

#include <cmath>

namespace fourbeat::deliver {

namespace {

double power_of_ten(int exponent) {
  double power = 1.0;
  for (int i = 0; i < exponent; ++i)
    power *= 10.0;
  return power;
}

}  // namespace

double rounded(double number, int decimals) {
  if (!std::isfinite(number)) return 0.0;
  const double scale = power_of_ten(decimals);
  const double scaled = std::round(number * scale);
  return std::isfinite(scaled) ? scaled / scale + 0.0 : number;
}

std::string fixed(double number, int decimals) {
  if (!std::isfinite(number)) return {};
  return fmt::format("{:.{}f}", rounded(number, decimals) + 0.0, decimals);
}

std::string up_to(double number, int decimals) {
  std::string text = fixed(number, decimals);
  if (text.find('.') == std::string::npos) return text;
  while (text.back() == '0')
    text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace fourbeat::deliver
