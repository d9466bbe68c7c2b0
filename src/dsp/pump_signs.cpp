// SPDX-License-Identifier: GPL-3.0-or-later
#include "pump_signs.h"

#include "parabola.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

namespace fourbeat::dsp {

namespace {

/// Strays less than this share of the interval are the measuring's own.
constexpr double least_stray = 0.008;
/// Lag-one correlation to be expected of a wheel and of a pump (less than 0 for the trend taken out
/// and the measuring's error), and the spread of one measured over n intervals, times sqrt(n).
constexpr double wheel_correlation = -0.58;
constexpr double pump_correlation = -0.25;
constexpr double correlation_spread = 0.8;
/// Odds, in nats, that a pump needs.
constexpr double pump_odds = 0.5;
/// Evidence in nats of one more run that slows down (four in five of a pump's; one in five of a
/// train's, whose pace rises as often, or stays) and of one that speeds up.
constexpr double slows_again = 1.4;
constexpr double speeds_up = -2.0;
/// Evidence in nats of a run that stands alone in its take: four in five of a pump's do that have
/// silence before them, and of a train's one in six, one that coasted till then or that noise hid.
constexpr double stands_alone = 1.5;
/// Evidence in nats of a pause after which the pace is a tenth greater than before it (a pump's
/// steam has rested; a train gains no speed without a beat, but downhill), and of one after which
/// it is a tenth less.
constexpr double starts_fresh = 1.5;
constexpr double starts_tired = -2.0;
/// Three of the first and none of the second tell a pump of which one end of the stroke alone is
/// heard.
constexpr double least_rested = 4.0;
/// And so do strokes this surely free, in nats.
constexpr double least_free = 10.0;
/// Evidence in nats for two ends of a stroke that differ.
constexpr double least_two_ends = 10.0;
/// A pump must show one of these three, but where the odds alone are so great, in nats.
constexpr double odds_enough = 5.0;

/// Value at the middle of a parabola through the intervals around `at`, by least squares.
double smooth_at(std::span<const double> values, std::size_t at) {
  constexpr std::int64_t reach = 5;
  const auto size = static_cast<std::int64_t>(values.size());
  const auto centre = static_cast<std::int64_t>(at);
  const std::int64_t low = std::max<std::int64_t>(0, centre - reach);
  const std::int64_t high = std::min(size - 1, centre + reach);
  // Moments about the window's own middle, then solved for the value at `at`.
  const double middle = 0.5 * static_cast<double>(low + high);
  Parabola near;
  for (std::int64_t i = low; i <= high; ++i)
    near.add(static_cast<double>(i) - middle, values[static_cast<std::size_t>(i)]);
  return near.at(static_cast<double>(centre) - middle);
}

/// Takes the mean of each of `places` that repeat out of the strays; returns Fisher's F for them.
double take_out_pattern(std::vector<double>& strays, std::size_t places) {
  std::vector<double> mean(places, 0.0);
  std::vector<double> count(places, 0.0);
  for (std::size_t i = 0; i < strays.size(); ++i) {
    mean[i % places] += strays[i];
    count[i % places] += 1.0;
  }
  double between = 0.0;
  double inside = 0.0;
  for (std::size_t i = 0; i < strays.size(); ++i) {
    const double level = mean[i % places] / count[i % places];
    between += level * level;
    inside += (strays[i] - level) * (strays[i] - level);
    strays[i] -= level;
  }
  const auto n = static_cast<double>(strays.size());
  const auto p = static_cast<double>(places);
  return (between / (p - 1.0)) / std::max(1e-12, inside / (n - p));
}

/// Strays from the smooth interval, held to three of their usual sizes (by the median magnitude): a
/// start or a missed beat says nothing of the rest.
std::vector<double> strays_of(std::span<const double> intervals_s) {
  std::vector<double> strays;
  strays.reserve(intervals_s.size());
  for (std::size_t i = 0; i < intervals_s.size(); ++i)
    strays.push_back(intervals_s[i] / smooth_at(intervals_s, i) - 1.0);
  std::vector<double> sizes;
  sizes.reserve(strays.size());
  for (const double stray : strays)
    sizes.push_back(std::fabs(stray));
  const auto middle = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() / 2);
  std::nth_element(sizes.begin(), middle, sizes.end());
  const double most = 3.0 * 1.4826 * *middle;
  for (double& stray : strays)
    stray = std::clamp(stray, -most, most);
  return strays;
}

/// Evidence in nats for what repeats every `places`th interval, by the Bayesian information
/// criterion (Schwarz 1978) from Fisher's F; at least 0.
double evidence_of_pattern(double ratio, std::size_t intervals, std::size_t places) {
  const auto n = static_cast<double>(intervals);
  const auto p = static_cast<double>(places);
  return std::max(
      0.0, 0.5 * n * std::log1p(ratio * (p - 1.0) / (n - p)) - 0.5 * (p - 1.0) * std::log(n));
}

}  // namespace

double PumpSigns::odds() const {
  const double again = slows_again * std::max(0, slowing - 1) + speeds_up * speeding_up;
  return free + again + starts_fresh * fresh + starts_tired * tired + stands_alone * lone;
}

bool PumpSigns::pump() const {
  const double rested = starts_fresh * fresh + starts_tired * tired;
  const bool strokes = two_ends >= least_two_ends || rested >= least_rested || free >= least_free;
  return odds() > (strokes ? pump_odds : odds_enough);
}

PumpSigns signs_of(std::span<const double> intervals_s) {
  std::vector<double> strays = strays_of(intervals_s);
  PumpSigns signs;
  constexpr double best_of_four = 1.386;  // ln 4: the largest of so many is no evidence
  signs.two_ends = evidence_of_pattern(take_out_pattern(strays, 2), strays.size(), 2);
  double repeated = 0.0;
  std::vector<double> rest = strays;
  for (const std::size_t places : {3U, 4U, 6U, 8U}) {
    if (strays.size() < 4U * places) continue;
    std::vector<double> less = strays;
    const double found =
        std::max(0.0, evidence_of_pattern(take_out_pattern(less, places), strays.size(), places) -
                          best_of_four);
    // Of four beats' pattern, the usual one, nothing shall be taken for a pump's freedom.
    if (found > repeated || (places == 4 && repeated == 0.0)) rest = std::move(less);
    repeated = std::max(repeated, found);
  }
  signs.free = -repeated;
  double power = 0.0;
  double product = 0.0;
  for (std::size_t i = 0; i < rest.size(); ++i) {
    power += rest[i] * rest[i];
    if (i > 0) product += rest[i] * rest[i - 1];
  }
  const auto n = static_cast<double>(rest.size());
  if (power < n * least_stray * least_stray) return signs;
  const double correlation = std::min(product / power, pump_correlation);
  const double from_wheel = correlation - wheel_correlation;
  const double from_pump = correlation - pump_correlation;
  signs.free += n * (from_wheel * from_wheel - from_pump * from_pump) /
                (2.0 * correlation_spread * correlation_spread);
  return signs;
}

}  // namespace fourbeat::dsp
