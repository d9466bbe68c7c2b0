// SPDX-License-Identifier: GPL-3.0-or-later
#include "sixteenths.h"

#include <cmath>

namespace fourbeat::dsp {

double sum_of_squares(const Sixteenths& values, std::size_t from, std::size_t to) {
  double mean = 0.0;
  for (std::size_t k = from; k < to; ++k)
    mean += values.at(k) / static_cast<double>(to - from);
  double sum = 0.0;
  for (std::size_t k = from; k < to; ++k)
    sum += (values.at(k) - mean) * (values.at(k) - mean);
  return sum;
}

Sixteenths less(const Sixteenths& values, const Sixteenths& others) {
  Sixteenths out{};
  for (std::size_t k = 0; k < sixteenths; ++k)
    out.at(k) = values.at(k) - others.at(k);
  return out;
}

Line line_through(const Sixteenths& values) {
  const auto place = [](std::size_t k) {
    return (static_cast<double>(k) + 0.5) / static_cast<double>(sixteenths) - 0.5;
  };
  Line line;
  double spread = 0.0;
  for (std::size_t k = 0; k < sixteenths; ++k) {
    line.slope += place(k) * values.at(k);
    spread += place(k) * place(k);
  }
  line.slope /= spread;
  Sixteenths rest = values;
  for (std::size_t k = 0; k < sixteenths; ++k)
    rest.at(k) -= line.slope * place(k);
  line.rest = sum_of_squares(rest, 0, sixteenths);
  line.error = std::sqrt(line.rest / static_cast<double>(sixteenths - 2) / spread);
  return line;
}

}  // namespace fourbeat::dsp
