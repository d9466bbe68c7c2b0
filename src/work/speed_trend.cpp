// SPDX-License-Identifier: GPL-3.0-or-later
#include "speed_trend.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

namespace fourbeat::work {

namespace {

constexpr double offset_ridge = 0.1;
constexpr double octave = 0.6931471805599453;  ///< of the natural logarithm
constexpr double distinct_ratio = 1.02;        ///< speeds nearer than this count as one

/// Solves a x = b in place by elimination with pivots; a is symmetric and positive.
std::vector<double> solve(std::vector<std::vector<double>> a, std::vector<double> b) {
  const std::size_t n = b.size();
  for (std::size_t column = 0; column < n; ++column) {
    std::size_t pivot = column;
    for (std::size_t row = column + 1; row < n; ++row) {
      if (std::fabs(a[row][column]) > std::fabs(a[pivot][column])) pivot = row;
    }
    std::swap(a[column], a[pivot]);
    std::swap(b[column], b[pivot]);
    if (a[column][column] == 0.0) continue;
    for (std::size_t row = column + 1; row < n; ++row) {
      const double factor = a[row][column] / a[column][column];
      for (std::size_t k = column; k < n; ++k)
        a[row][k] -= factor * a[column][k];
      b[row] -= factor * b[column];
    }
  }
  std::vector<double> x(n, 0.0);
  for (std::size_t row = n; row-- > 0;) {
    double sum = b[row];
    for (std::size_t k = row + 1; k < n; ++k)
      sum -= a[row][k] * x[k];
    x[row] = a[row][row] == 0.0 ? 0.0 : sum / a[row][row];
  }
  return x;
}

int distinct_speeds(const std::vector<TrendPoint>& points) {
  std::vector<double> speeds;
  speeds.reserve(points.size());
  for (const TrendPoint& point : points)
    speeds.push_back(point.speed_kmh);
  std::sort(speeds.begin(), speeds.end());
  int count = 0;
  double last = 0.0;
  for (const double speed : speeds) {
    if (count > 0 && speed < last * distinct_ratio) continue;
    ++count;
    last = speed;
  }
  return count;
}

double polynomial(const std::vector<double>& coefficients, double x) {
  double value = 0.0;
  for (std::size_t i = coefficients.size(); i-- > 0;)
    value = value * x + coefficients[i];
  return value;
}

/// Least squares over the points: coefficients of the powers of the logarithm of speed over
/// origin_kmh, lowest first, takes' offsets left out.
std::vector<double> fit(const std::vector<TrendPoint>& points, double origin_kmh, int degree) {
  const int most = std::min(degree, distinct_speeds(points) - 1);
  const auto terms = static_cast<std::size_t>(std::max(0, most)) + 1;
  std::map<std::size_t, std::size_t> takes;
  for (const TrendPoint& point : points)
    takes.try_emplace(point.take, terms + takes.size());
  const std::size_t offsets = takes.size() > 1 ? takes.size() : 0;
  std::vector<std::vector<double>> a(terms + offsets, std::vector<double>(terms + offsets, 0.0));
  std::vector<double> b(terms + offsets, 0.0);
  for (const TrendPoint& point : points) {
    const double x = std::log(point.speed_kmh / origin_kmh);
    std::vector<double> row(terms + offsets, 0.0);
    double power = 1.0;
    for (std::size_t i = 0; i < terms; ++i, power *= x)
      row[i] = power;
    if (offsets > 0) row[takes.at(point.take)] = 1.0;
    for (std::size_t i = 0; i < row.size(); ++i) {
      for (std::size_t k = 0; k < row.size(); ++k)
        a[i][k] += row[i] * row[k];
      b[i] += row[i] * point.value;
    }
  }
  for (std::size_t i = terms; i < a.size(); ++i)
    a[i][i] += offset_ridge;
  std::vector<double> solved = solve(std::move(a), std::move(b));
  solved.resize(terms);
  return solved;
}

}  // namespace

SpeedTrend::SpeedTrend(const std::vector<TrendPoint>& points, int degree) {
  if (points.empty()) return;
  double mean = 0.0;
  for (const TrendPoint& point : points)
    mean += std::log(point.speed_kmh) / static_cast<double>(points.size());
  origin_kmh_ = std::exp(mean);
  low_ = high_ = std::log(points.front().speed_kmh / origin_kmh_);
  for (const TrendPoint& point : points) {
    const double x = std::log(point.speed_kmh / origin_kmh_);
    low_ = std::min(low_, x);
    high_ = std::max(high_, x);
  }
  coefficients_ = fit(points, origin_kmh_, degree);
  const std::vector<double> line = fit(points, origin_kmh_, std::min(degree, 1));
  slope_outside_ = line.size() > 1 ? line[1] : 0.0;
}

double SpeedTrend::place_of(double speed_kmh) const {
  return speed_kmh > 0.0 ? std::log(speed_kmh / origin_kmh_) : low_;
}

double SpeedTrend::octaves_outside(double speed_kmh) const {
  const double x = place_of(speed_kmh);
  return std::fabs(x - std::clamp(x, low_, high_)) / octave;
}

double SpeedTrend::at(double speed_kmh) const {
  const double reach = std::min(high_ - low_, octave);
  const double x = place_of(speed_kmh);
  const double inside = std::clamp(x, low_, high_);
  double value = polynomial(coefficients_, inside);
  if (x != inside && reach > 0.0) {
    const double beyond = reach * (1.0 - std::exp(-std::fabs(x - inside) / reach));
    value += std::copysign(beyond, x - inside) * slope_outside_;
  }
  return value;
}

}  // namespace fourbeat::work
