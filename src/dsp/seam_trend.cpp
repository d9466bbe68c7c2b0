// SPDX-License-Identifier: GPL-3.0-or-later
#include "seam_trend.h"

#include "plain_log.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace fourbeat::dsp {

namespace {

/// The loop is cut into so many parts; those of its first and of its last quarter are compared.
constexpr std::size_t parts = 16;
constexpr std::size_t quarter = parts / 4;
constexpr double sounding_db = 40.0;  // an octave this far under the strongest is not heard
/// About the smallest change of level that is heard in noise (E. Zwicker, H. Fastl,
/// Psychoacoustics, chapter 7; from memory).
constexpr double heard_db = 1.0;
constexpr double least_errors = 4.0;

using Parts = std::array<double, parts>;

/// Mean levels of one octave by parts of the span [first, last) of points.
Parts parts_of(const std::vector<float>& levels, std::size_t octaves, std::size_t octave,
               std::size_t first, std::size_t last) {
  Parts out{};
  for (std::size_t k = 0; k < parts; ++k) {
    const std::size_t from = first + k * (last - first) / parts;
    const std::size_t to = first + (k + 1) * (last - first) / parts;
    double sum = 0.0;
    for (std::size_t p = from; p < to; ++p)
      sum += static_cast<double>(levels[p * octaves + octave]);
    out[k] = sum / static_cast<double>(to - from);
  }
  return out;
}

double mean_of(std::span<const double> values) {
  double sum = 0.0;
  for (const double value : values)
    sum += value;
  return sum / static_cast<double>(values.size());
}

double squares_about(std::span<const double> values, double mean) {
  double sum = 0.0;
  for (const double value : values)
    sum += (value - mean) * (value - mean);
  return sum;
}

/// Last quarter less first; 0 where it is not heard, or no more than chance would have it.
double change_of(const Parts& values) {
  const std::span all(values);
  const std::span head = all.first(quarter);
  const std::span tail = all.last(quarter);
  const double before = mean_of(head);
  const double after = mean_of(tail);
  const double variance = (squares_about(head, before) + squares_about(tail, after)) /
                          static_cast<double>(2 * (quarter - 1));
  const double error = std::sqrt(2.0 * variance / static_cast<double>(quarter));
  const double change = after - before;
  if (std::abs(change) < heard_db || std::abs(change) < least_errors * error) return 0.0;
  return std::round(change * 100.0) / 100.0;
}

Parts mean_of(std::span<const Parts> columns) {
  Parts out{};
  for (std::size_t k = 0; k < parts; ++k) {
    for (const Parts& column : columns)
      out[k] += column[k] / static_cast<double>(columns.size());
  }
  return out;
}

/// whole_db: level of the whole sound.
SeamTrend trend_of_channel(const std::vector<Parts>& octaves, double whole_db) {
  double strongest = whole_db;
  for (const Parts& octave : octaves)
    strongest = std::max(strongest, mean_of(octave));
  std::vector<Parts> sounding;
  for (const Parts& octave : octaves) {
    if (mean_of(octave) >= strongest - sounding_db) sounding.push_back(octave);
  }
  SeamTrend trend;
  if (sounding.empty()) return trend;
  const std::span<const Parts> all(sounding);
  trend.level_db = change_of(mean_of(all));
  if (sounding.size() < 2) return trend;
  const Parts low = mean_of(all.first(sounding.size() / 2));
  Parts balance = mean_of(all.last(sounding.size() / 2));
  for (std::size_t k = 0; k < parts; ++k)
    balance[k] -= low[k];
  trend.tone_db = change_of(balance);
  return trend;
}

}  // namespace

SeamTrend trend_of(const SeamSeries& series, const SeamGrid& grid) {
  SeamTrend worst;
  // Windows look ahead: those of the last points reach into the seam's stretch again.
  const auto first = static_cast<std::size_t>(grid.seam_points());
  const std::int64_t ahead = tell_frames + fine_hops;
  const auto last = static_cast<std::size_t>(std::max<std::int64_t>(0, grid.points() - ahead));
  if (last < first + parts) return worst;
  for (std::size_t c = 0; c < series.octave_db.size(); ++c) {
    std::vector<Parts> octaves;
    for (std::size_t o = 0; o < series.octaves; ++o)
      octaves.push_back(parts_of(series.octave_db[c], series.octaves, o, first, last));
    const double power = series.channel_rms[c] * series.channel_rms[c];
    const SeamTrend trend = trend_of_channel(octaves, plain_db(std::max(power, least_band_power)));
    if (std::abs(trend.level_db) > std::abs(worst.level_db)) worst.level_db = trend.level_db;
    if (std::abs(trend.tone_db) > std::abs(worst.tone_db)) worst.tone_db = trend.tone_db;
  }
  return worst;
}

}  // namespace fourbeat::dsp
