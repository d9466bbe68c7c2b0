// SPDX-License-Identifier: GPL-3.0-or-later
#include "HeatMap.h"

#include "Theme.h"

#include <algorithm>
#include <cmath>
#include <span>
#include <vector>

namespace fourbeat::ui {

namespace {

double distance(const Oklab& a, const Oklab& b) {
  return std::sqrt((a.l - b.l) * (a.l - b.l) + (a.a - b.a) * (a.a - b.a) +
                   (a.b - b.b) * (a.b - b.b));
}

Oklab between(const Oklab& a, const Oklab& b, double place) {
  return {a.l + (b.l - a.l) * place, a.a + (b.a - a.a) * place, a.b + (b.b - a.b) * place};
}

QRgb rgb(const Oklab& lab) {
  const double l = std::pow(lab.l + 0.3963377774 * lab.a + 0.2158037573 * lab.b, 3.0);
  const double m = std::pow(lab.l - 0.1055613458 * lab.a - 0.0638541728 * lab.b, 3.0);
  const double s = std::pow(lab.l - 0.0894841775 * lab.a - 1.2914855480 * lab.b, 3.0);
  const auto coded = [](double linear) {
    const double clamped = std::clamp(linear, 0.0, 1.0);
    const double gamma =
        clamped <= 0.0031308 ? 12.92 * clamped : 1.055 * std::pow(clamped, 1.0 / 2.4) - 0.055;
    return static_cast<int>(std::lround(255.0 * gamma));
  };
  return qRgb(coded(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
              coded(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
              coded(-0.0041960863 * l - 0.7034186147 * m + 1.7076147010 * s));
}

/// A smooth way through the points, walked at an even pace.
HeatMap walked(std::span<const Oklab> points) {
  constexpr int fine = 2048;
  std::vector<Oklab> way;
  std::vector<double> walked_so_far{0.0};
  for (int i = 0; i <= fine; ++i) {
    // De Casteljau: a Bézier curve has no corners.
    std::vector<Oklab> left(points.begin(), points.end());
    const double place = static_cast<double>(i) / fine;
    for (std::size_t n = left.size() - 1; n > 0; --n) {
      for (std::size_t k = 0; k < n; ++k)
        left[k] = between(left[k], left[k + 1], place);
    }
    way.push_back(left.front());
    if (i > 0) walked_so_far.push_back(walked_so_far.back() + distance(way.end()[-2], way.back()));
  }
  HeatMap map{};
  for (std::size_t i = 0; i < map.size(); ++i) {
    const double due = walked_so_far.back() * static_cast<double>(i) / 255.0;
    const auto at = std::lower_bound(walked_so_far.begin(), walked_so_far.end(), due);
    map[i] = rgb(way[static_cast<std::size_t>(at - walked_so_far.begin())]);
  }
  return map;
}

}  // namespace

Oklab oklab(QRgb color) {
  const auto linear = [](int coded) {
    const double value = coded / 255.0;
    return value <= 0.04045 ? value / 12.92 : std::pow((value + 0.055) / 1.055, 2.4);
  };
  const double r = linear(qRed(color));
  const double g = linear(qGreen(color));
  const double b = linear(qBlue(color));
  const double l = std::cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
  const double m = std::cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
  const double s = std::cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  return {0.2104542553 * l + 0.7936177850 * m - 0.0040720468 * s,
          1.9779984951 * l - 2.4285922050 * m + 0.4505937099 * s,
          0.0259040371 * l + 0.7827717662 * m - 0.8086757660 * s};
}

const HeatMap& heatMap(bool dark) {
  static const HeatMap on_dark = [] {
    const std::array<Oklab, 4> points{{oklab(Theme::color(Theme::Ink::surface, true).rgb()),
                                       {0.46, -0.01, -0.19},
                                       {0.72, 0.00, -0.02},
                                       {0.97, -0.04, 0.13}}};
    return walked(points);
  }();
  static const HeatMap on_light = [] {
    const std::array<Oklab, 4> points{{oklab(Theme::color(Theme::Ink::surface, false).rgb()),
                                       {0.86, -0.02, 0.12},
                                       {0.58, 0.00, -0.06},
                                       {0.24, 0.00, -0.13}}};
    return walked(points);
  }();
  return dark ? on_dark : on_light;
}

}  // namespace fourbeat::ui
