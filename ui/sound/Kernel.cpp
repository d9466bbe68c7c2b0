// SPDX-License-Identifier: GPL-3.0-or-later
#include "Kernel.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>

namespace fourbeat::ui {

namespace {

constexpr int perCrossing = 512;
constexpr double cutOff = 0.96;  // of the lower Nyquist frequency
constexpr double kaiserBeta = 9.0;

/// The modified Bessel function of order 0, by its series.
double bessel0(double x) {
  double term = 1.0;
  double sum = 1.0;
  for (int k = 1; term > sum * 1e-17; ++k) {
    term *= (x / (2.0 * k)) * (x / (2.0 * k));
    sum += term;
  }
  return sum;
}

/// The sum over one side: frames at distances first, first + 1 … output of the centre, in `frame`'s
/// direction.
double side(const float* table, const float* frame, std::ptrdiff_t direction, double first,
            double inverse, int frames) noexcept {
  double sum = 0.0;
  double at = first * inverse * perCrossing;
  const double advance = inverse * perCrossing;
  constexpr double end = static_cast<double>(Kernel::crossings) * perCrossing;
  for (int i = 0; i < frames && at < end; ++i) {
    const auto index = static_cast<std::size_t>(at);
    const double part = at - static_cast<double>(index);
    const double low = static_cast<double>(table[index]);
    sum +=
        static_cast<double>(*frame) * (low + part * (static_cast<double>(table[index + 1]) - low));
    frame += direction;
    at += advance;
  }
  return sum;
}

}  // namespace

Kernel::Kernel() : table_(static_cast<std::size_t>(crossings) * perCrossing + 2, 0.0F) {
  const double scale = bessel0(kaiserBeta);
  for (std::size_t i = 0; i + 1 < table_.size(); ++i) {
    const double x = static_cast<double>(i) / perCrossing;
    const double angle = std::numbers::pi * cutOff * x;
    const double sinc = i == 0 ? 1.0 : std::sin(angle) / angle;
    const double edge = std::min(1.0, x / crossings);
    table_[i] = static_cast<float>(cutOff * sinc *
                                   bessel0(kaiserBeta * std::sqrt(1.0 - edge * edge)) / scale);
  }
}

const Kernel& Kernel::instance() {
  static const Kernel kernel;
  return kernel;
}

int Kernel::halfFrames(double step) noexcept {
  return static_cast<int>(std::ceil(crossings * std::max(1.0, step)));
}

float Kernel::between(const float* centre, double place, double step) const noexcept {
  const double inverse = 1.0 / std::max(1.0, step);
  const int half = halfFrames(step);
  const double sum = side(table_.data(), centre, -1, place, inverse, half) +
                     side(table_.data(), centre + 1, 1, 1.0 - place, inverse, half);
  return static_cast<float>(sum * inverse);
}

}  // namespace fourbeat::ui
