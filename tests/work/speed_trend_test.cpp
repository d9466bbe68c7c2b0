// SPDX-License-Identifier: GPL-3.0-or-later
#include "speed_trend.h"

#include "chuff_rows.h"
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

TEST_CASE("speed trend: harder work is never made quieter than easier", "[work]") {
  using model::Effort;
  const auto falling = [](double from_kmh, double level_db, double db_an_octave) {
    std::vector<TrendPoint> points;
    for (const double ratio : {1.0, 1.2, 1.5}) {
      points.push_back({from_kmh * ratio, level_db - db_an_octave * std::log2(ratio), 0});
    }
    return work::RowTrends{SpeedTrend(points, 1), SpeedTrend({}, 1)};
  };
  // Hard falls by 12 dB an octave from 12 km/h on, easy stays: they cross.
  std::map<Effort, work::RowTrends> trends;
  trends.emplace(Effort::hard, falling(12.0, -10.0, 12.0));
  trends.emplace(Effort::easy, falling(12.0, -16.0, 0.0));
  const auto own_db = [&](Effort effort, double kmh) {
    return trends.at(effort).energy_db.at(kmh);
  };
  for (const double kmh : {6.0, 12.0, 14.0}) {
    for (const Effort effort : {Effort::easy, Effort::hard})
      CHECK(work::energy_in_order_db(trends, effort, kmh) == Approx(own_db(effort, kmh)));
  }
  // Both equally far from what was measured: half way, and no jump between them.
  REQUIRE(own_db(Effort::hard, 60.0) < own_db(Effort::easy, 60.0) - 3.0);
  const double middle_db = (own_db(Effort::hard, 60.0) + own_db(Effort::easy, 60.0)) / 2.0;
  CHECK(work::energy_in_order_db(trends, Effort::easy, 60.0) == Approx(middle_db));
  CHECK(work::energy_in_order_db(trends, Effort::hard, 60.0) == Approx(middle_db));
  // Easy was measured there: it rules, and hard is brought to it.
  trends.erase(Effort::easy);
  trends.emplace(Effort::easy, falling(50.0, -16.0, 0.0));
  CHECK(work::energy_in_order_db(trends, Effort::easy, 60.0) == Approx(-16.0).margin(1e-3));
  CHECK(work::energy_in_order_db(trends, Effort::hard, 60.0) == Approx(-16.0).margin(1e-3));
  // Drifting is left below as it is.
  trends.emplace(Effort::drifting, falling(12.0, -30.0, 0.0));
  CHECK(work::energy_in_order_db(trends, Effort::drifting, 60.0) == Approx(-30.0));
}
