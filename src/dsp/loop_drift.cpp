// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_drift.h"

#include "plain_log.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

namespace fourbeat::dsp {

namespace {

constexpr std::size_t parts = 8;
constexpr double least_power = 1e-10;  // -100 dBFS
constexpr double least_drift_db = 0.5;
constexpr double most_drift_db = 6.0;
constexpr double most_db_a_second = 2.0;
constexpr double least_errors = 4.0;

}  // namespace

double loop_drift_db(const std::vector<std::vector<float>>& channels, const FrameRange& range,
                     double sample_rate_hz) {
  const std::int64_t start = range.start.value();
  const std::int64_t length = range.length().value();
  if (length < static_cast<std::int64_t>(parts)) return 0.0;
  std::array<double, parts> levels_db{};
  double mean = 0.0;
  for (std::size_t k = 0; k < parts; ++k) {
    const std::int64_t from = start + static_cast<std::int64_t>(k) * length / 8;
    const std::int64_t to = start + static_cast<std::int64_t>(k + 1) * length / 8;
    double power = 0.0;
    for (const std::vector<float>& channel : channels) {
      for (std::int64_t i = from; i < to; ++i) {
        const double x = channel[static_cast<std::size_t>(i)];
        power += x * x;
      }
    }
    levels_db[k] = plain_db(std::max(power / static_cast<double>(to - from), least_power));
    mean += levels_db[k] / static_cast<double>(parts);
  }
  // Least squares over the place in the loop, -1/2 to 1/2.
  double slope = 0.0;
  double spread = 0.0;
  const auto place = [](std::size_t k) {
    return (static_cast<double>(k) + 0.5) / static_cast<double>(parts) - 0.5;
  };
  for (std::size_t k = 0; k < parts; ++k) {
    slope += place(k) * levels_db[k];
    spread += place(k) * place(k);
  }
  slope /= spread;
  double rest = 0.0;
  for (std::size_t k = 0; k < parts; ++k) {
    const double off = levels_db[k] - mean - slope * place(k);
    rest += off * off;
  }
  const double error = std::sqrt(rest / static_cast<double>(parts - 2) / spread);
  const double size_db = std::abs(slope);
  const double seconds = static_cast<double>(length) / sample_rate_hz;
  if (size_db < least_drift_db || size_db > most_drift_db || size_db > most_db_a_second * seconds ||
      size_db < least_errors * error)
    return 0.0;
  return std::round(slope * 100.0) / 100.0;
}

}  // namespace fourbeat::dsp
