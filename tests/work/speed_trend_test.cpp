// SPDX-License-Identifier: GPL-3.0-or-later
#include "speed_trend.h"

#include "support/catch.h"

#include <cmath>

using namespace fourbeat;
using work::SpeedTrend;
using work::TrendPoint;

TEST_CASE("speed trend: a parabola over the logarithm of speed is found again", "[work]") {
  const auto law = [](double kmh) {
    const double x = std::log(kmh / 20.0);
    return 3.0 - 4.0 * x + 1.5 * x * x;
  };
  std::vector<TrendPoint> points;
  for (const double kmh : {8.0, 12.0, 20.0, 31.0, 50.0})
    points.push_back({kmh, law(kmh), 0});
  const SpeedTrend trend(points, 2);
  for (const double kmh : {8.0, 10.0, 25.0, 50.0})
    CHECK(trend.at(kmh) == Approx(law(kmh)).margin(1e-9));
}

TEST_CASE("speed trend: beyond the speeds measured it goes on ever less", "[work]") {
  const auto line = [](double kmh) { return 2.0 - 4.0 * std::log(kmh); };
  const auto measured = [&](const std::vector<double>& speeds_kmh, int degree) {
    std::vector<TrendPoint> points;
    points.reserve(speeds_kmh.size());
    for (const double kmh : speeds_kmh)
      points.push_back({kmh, line(kmh), 0});
    return SpeedTrend(points, degree);
  };
  for (const int degree : {1, 2}) {
    // More than an octave measured: on by 1 - 1 / e of an octave after one, by one at most.
    const SpeedTrend wide = measured({8.0, 12.0, 20.0, 31.0, 50.0}, degree);
    CHECK(wide.at(51.0) == Approx(line(51.0)).margin(0.01));
    CHECK(wide.at(100.0) ==
          Approx(line(50.0) - 4.0 * std::log(2.0) * (1.0 - std::exp(-1.0))).margin(1e-9));
    CHECK(wide.at(1e9) == Approx(line(50.0) - 4.0 * std::log(2.0)).margin(1e-6));
    CHECK(wide.at(1e-9) == Approx(line(8.0) + 4.0 * std::log(2.0)).margin(1e-6));
    // Less than an octave: by what was measured.
    const SpeedTrend narrow = measured({20.0, 21.0, 22.0}, degree);
    CHECK(narrow.at(1e9) == Approx(2.0 * line(22.0) - line(20.0)).margin(1e-6));
  }
  // A parabola's edge says little: it goes on as the straight line, here level.
  const SpeedTrend bowl({{10.0, 5.0, 0}, {20.0, 0.0, 0}, {40.0, 5.0, 0}}, 2);
  CHECK(bowl.at(40.0) == Approx(5.0));
  CHECK(bowl.at(90.0) == Approx(5.0));
}

TEST_CASE("speed trend: what one take is softer by does not bend it", "[work]") {
  std::vector<TrendPoint> points;
  for (const double kmh : {10.0, 12.0, 15.0, 18.0, 22.0, 27.0})
    points.push_back({kmh, -std::log(kmh), 1});
  for (const double kmh : {18.0, 22.0, 27.0, 33.0, 40.0, 50.0})
    points.push_back({kmh, -std::log(kmh) - 6.0, 2});
  const SpeedTrend trend(points, 1);
  // The law falls by ln 5 = 1.61 over the range; plain least squares would make it some 8.
  CHECK(trend.at(10.0) - trend.at(50.0) == Approx(1.61).margin(1.2));
}

TEST_CASE("speed trend: nothing, one point and equal speeds have an answer", "[work]") {
  CHECK(SpeedTrend({}, 2).at(30.0) == 0.0);
  CHECK(SpeedTrend({{20.0, 5.0, 0}}, 2).at(60.0) == Approx(5.0));
  CHECK(SpeedTrend({{20.0, 5.0, 0}, {20.1, 7.0, 0}}, 2).at(60.0) == Approx(6.0));
  CHECK(SpeedTrend({{20.0, 5.0, 0}}, 2).at(0.0) == Approx(5.0));
}
