// SPDX-License-Identifier: GPL-3.0-or-later
#include "seam_trend.h"

#include "plain_log.h"
#include "sixteenths.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace fourbeat::dsp {

namespace {

/// The sixteenths of the first and of the last quarter are compared.
constexpr std::size_t quarter = sixteenths / 4;
/// About the smallest change of level that is heard in noise (E. Zwicker, H. Fastl,
/// Psychoacoustics, chapter 7; from memory).
constexpr double heard_db = 1.0;
constexpr double least_step_errors = 5.0;  // of the six steps looked for, none by chance
constexpr double first_octave_hz = 315.0;  // the middle of the one from 250 Hz

/// Mean levels of one octave by sixteenths of the span [first, last) of points.
Sixteenths parts_of(const std::vector<float>& levels, std::size_t octaves, std::size_t octave,
                    std::size_t first, std::size_t last) {
  Sixteenths out{};
  for (std::size_t k = 0; k < sixteenths; ++k) {
    const std::size_t from = first + k * (last - first) / sixteenths;
    const std::size_t to = first + (k + 1) * (last - first) / sixteenths;
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

/// A change, and its standard error.
struct Change {
  double db = 0.0;
  double error_db = 0.0;

  [[nodiscard]] bool heard(double errors) const {
    return std::abs(db) >= heard_db && std::abs(db) >= errors * error_db;
  }
  [[nodiscard]] double hundredths() const { return std::round(db * 100.0) / 100.0; }
};

/// From the first `before` sixteenths to those from `after` on.
Change change_between(const Sixteenths& values, std::size_t before, std::size_t after) {
  const std::span all(values);
  const auto n = static_cast<double>(before);
  const auto m = static_cast<double>(sixteenths - after);
  const double squares =
      sum_of_squares(values, 0, before) + sum_of_squares(values, after, sixteenths);
  return {mean_of(all.subspan(after)) - mean_of(all.first(before)),
          std::sqrt(squares / (n + m - 2.0) * (1.0 / n + 1.0 / m))};
}

/// The largest step in one part of the first or last quarter, which the quarters' means hide.
double step_of(const Sixteenths& values) {
  constexpr std::size_t least_side = 2;
  double largest = 0.0;
  for (std::size_t k = least_side; k + least_side < sixteenths; ++k) {
    if (k > quarter && k + 1 + quarter < sixteenths) continue;
    const Change step = change_between(values, k, k + 1);
    if (step.heard(least_step_errors) && std::abs(step.db) > std::abs(largest))
      largest = step.hundredths();
  }
  return largest;
}

/// Last quarter less first, or a step within either; 0 where it is not heard, or no more than
/// chance would have it.
double change_of(const Sixteenths& values) {
  const Change change = change_between(values, quarter, sixteenths - quarter);
  return change.heard(least_errors) ? change.hundredths() : step_of(values);
}

/// One octave's levels by sixteenths.
struct Octave {
  double middle_hz = 0.0;
  Sixteenths levels_db{};
};

Sixteenths mean_of(std::span<const Octave> octaves) {
  Sixteenths out{};
  for (std::size_t k = 0; k < sixteenths; ++k) {
    for (const Octave& octave : octaves)
      out[k] += octave.levels_db[k] / static_cast<double>(octaves.size());
  }
  return out;
}

/// Median of the octaves, part by part: one of them that drifts does not move it.
Sixteenths median_of(std::span<const Octave> octaves) {
  Sixteenths out{};
  std::vector<double> levels(octaves.size());
  for (std::size_t k = 0; k < sixteenths; ++k) {
    std::transform(octaves.begin(), octaves.end(), levels.begin(),
                   [k](const Octave& octave) { return octave.levels_db.at(k); });
    std::sort(levels.begin(), levels.end());
    out.at(k) = 0.5 * (levels[(levels.size() - 1) / 2] + levels[levels.size() / 2]);
  }
  return out;
}

/// Fills octave_db and octave_hz: from the middle of the first quarter to that of the last, by a
/// straight line.
void add_one_octave(std::span<const Octave> octaves, SeamTrend& trend) {
  if (octaves.size() < 3) return;
  // Each from its own mean, so that the median is of how they change.
  std::vector<Octave> changes(octaves.begin(), octaves.end());
  for (Octave& octave : changes) {
    const double mean = mean_of(octave.levels_db);
    for (double& level : octave.levels_db)
      level -= mean;
  }
  const Sixteenths usual = median_of(changes);
  for (const Octave& octave : changes) {
    const Line line = line_through(less(octave.levels_db, usual));
    constexpr double quarters_apart = 0.75;
    const Change change{quarters_apart * line.slope, quarters_apart * line.error};
    if (!change.heard(least_octave_errors) || std::abs(change.db) <= std::abs(trend.octave_db))
      continue;
    trend.octave_db = change.hundredths();
    trend.octave_hz = octave.middle_hz;
  }
}

/// whole_db: level of the whole sound.
SeamTrend trend_of_channel(const std::vector<Octave>& octaves, double whole_db) {
  double strongest = whole_db;
  for (const Octave& octave : octaves)
    strongest = std::max(strongest, mean_of(octave.levels_db));
  std::vector<Octave> sounding;
  for (const Octave& octave : octaves) {
    if (mean_of(octave.levels_db) >= strongest - sounding_db) sounding.push_back(octave);
  }
  SeamTrend trend;
  if (sounding.empty()) return trend;
  const std::span<const Octave> all(sounding);
  const Sixteenths whole = mean_of(all);
  trend.level_db = change_of(whole);
  if (sounding.size() < 2) return trend;
  const std::size_t half = sounding.size() / 2;
  trend.tone_db = change_of(less(mean_of(all.last(half)), mean_of(all.first(half))));
  if (trend.tone_db == 0.0) add_one_octave(all, trend);
  return trend;
}

}  // namespace

SeamTrend trend_of(const SeamSeries& series, const SeamGrid& grid) {
  SeamTrend worst;
  // Windows look ahead: those of the last points reach into the seam's stretch again.
  const auto first = static_cast<std::size_t>(grid.seam_points());
  const std::int64_t ahead = tell_frames + fine_hops;
  const auto last = static_cast<std::size_t>(std::max<std::int64_t>(0, grid.points() - ahead));
  if (last < first + sixteenths) return worst;
  for (std::size_t c = 0; c < series.octave_db.size(); ++c) {
    std::vector<Octave> octaves;
    octaves.reserve(series.octaves);
    for (std::size_t o = 0; o < series.octaves; ++o) {
      octaves.push_back({first_octave_hz * std::exp2(static_cast<double>(o)),
                         parts_of(series.octave_db[c], series.octaves, o, first, last)});
    }
    const double power = series.channel_rms[c] * series.channel_rms[c];
    const SeamTrend trend = trend_of_channel(octaves, plain_db(std::max(power, least_band_power)));
    if (std::abs(trend.level_db) > std::abs(worst.level_db)) worst.level_db = trend.level_db;
    if (std::abs(trend.tone_db) > std::abs(worst.tone_db)) worst.tone_db = trend.tone_db;
    if (std::abs(trend.octave_db) > std::abs(worst.octave_db)) {
      worst.octave_db = trend.octave_db;
      worst.octave_hz = trend.octave_hz;
    }
  }
  return worst;
}

}  // namespace fourbeat::dsp
