// SPDX-License-Identifier: GPL-3.0-or-later
#include "motion.h"

#include "waves.h"

#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::demo {

namespace {

std::vector<double> slopes(std::span<const Knot> knots) {
  const std::size_t n = knots.size();
  std::vector<double> secant(n, 0.0);
  std::vector<double> slope(n, 0.0);
  for (std::size_t k = 0; k + 1 < n; ++k) {
    secant[k] = (knots[k + 1].value - knots[k].value) / (knots[k + 1].time_s - knots[k].time_s);
  }
  for (std::size_t k = 1; k + 1 < n; ++k) {
    // The harmonic mean where the curve goes on, level at its turning points.
    if (secant[k - 1] * secant[k] > 0.0) {
      slope[k] = 2.0 * secant[k - 1] * secant[k] / (secant[k - 1] + secant[k]);
    }
  }
  return slope;
}

}  // namespace

std::vector<double> curve(std::span<const Knot> knots, std::int64_t frames) {
  std::vector<double> out(static_cast<std::size_t>(frames));
  const std::vector<double> slope = slopes(knots);
  std::size_t k = 0;
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double t = static_cast<double>(i) / rate_hz;
    while (k + 1 < knots.size() && t >= knots[k + 1].time_s)
      ++k;
    if (k + 1 == knots.size() || t <= knots[0].time_s) {
      out[i] = t <= knots[0].time_s ? knots[0].value : knots.back().value;
      continue;
    }
    const double width = knots[k + 1].time_s - knots[k].time_s;
    const double x = (t - knots[k].time_s) / width;
    const double x2 = x * x;
    const double x3 = x2 * x;
    out[i] = (2.0 * x3 - 3.0 * x2 + 1.0) * knots[k].value + (x3 - 2.0 * x2 + x) * width * slope[k] +
             (3.0 * x2 - 2.0 * x3) * knots[k + 1].value + (x3 - x2) * width * slope[k + 1];
  }
  return out;
}

std::vector<double> turns_run(const std::vector<double>& speed_kmh, double metres_per_turn) {
  std::vector<double> turns(speed_kmh.size());
  double run = 0.0;
  for (std::size_t i = 0; i < turns.size(); ++i) {
    turns[i] = run;
    run += speed_kmh[i] / 3.6 / metres_per_turn / rate_hz;
  }
  return turns;
}

std::vector<WheelMoment> moments(const std::vector<double>& speed_kmh, const model::Engine& engine,
                                 std::span<const double> angles_deg) {
  const std::vector<double> turns =
      turns_run(speed_kmh, wheel_circumference_m(engine.driver_diameter_mm));
  std::vector<WheelMoment> out;
  std::int64_t turn = 0;
  std::size_t which = 0;
  for (std::size_t i = 0; i + 1 < turns.size(); ++i) {
    while (true) {
      const double due = static_cast<double>(turn) + angles_deg[which] / 360.0;
      if (turns[i + 1] <= due) break;
      const double step = turns[i + 1] - turns[i];
      const double part = std::clamp((due - turns[i]) / step, 0.0, 1.0);
      out.push_back({static_cast<double>(i) + part, static_cast<int>(which), speed_kmh[i]});
      if (++which == angles_deg.size()) {
        which = 0;
        ++turn;
      }
    }
  }
  return out;
}

}  // namespace fourbeat::demo
