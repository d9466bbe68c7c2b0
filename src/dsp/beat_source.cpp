// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_source.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>

namespace fourbeat::dsp {

namespace {

/// Single strokes a second that a pump makes, with room to spare, and how far its pace may change
/// in one run; a tenth at either end is not looked at.
constexpr double slowest_pump_hz = 0.7;
constexpr double fastest_pump_hz = 3.4;
constexpr double most_pace_change = 1.35;
constexpr double most_pace_change_of_known = 1.6;
/// Strays less than this share of the interval are the measuring's own.
constexpr double least_stray = 0.008;
constexpr std::size_t least_intervals = 8;
constexpr std::size_t least_beats = 5;
/// Lag-one correlation to be expected of a wheel and of a pump (less than 0 for the trend taken out
/// and the measuring's error), and the spread of one measured over n intervals, times sqrt(n).
constexpr double wheel_correlation = -0.58;
constexpr double pump_correlation = -0.25;
constexpr double correlation_spread = 0.8;
/// Odds, in nats, that a pump needs.
constexpr double pump_odds = 0.5;
/// Evidence in nats of one more run that slows down (nine of ten of a pump's, one in three of a
/// train's) and of one that speeds up.
constexpr double slows_again = 1.0;
constexpr double speeds_up = -2.0;
/// Evidence in nats for two ends of a stroke that differ, which a pump must show.
constexpr double least_two_ends = 10.0;

/// Value at the middle of a parabola through the intervals around `at`, by least squares.
double smooth_at(std::span<const double> values, std::size_t at) {
  constexpr std::int64_t reach = 5;
  const auto size = static_cast<std::int64_t>(values.size());
  const auto centre = static_cast<std::int64_t>(at);
  const std::int64_t low = std::max<std::int64_t>(0, centre - reach);
  const std::int64_t high = std::min(size - 1, centre + reach);
  // Moments about the window's own middle, then solved for the value at `at`.
  const double middle = 0.5 * static_cast<double>(low + high);
  double n = 0.0;
  double s2 = 0.0;
  double s4 = 0.0;
  double y0 = 0.0;
  double y1 = 0.0;
  double y2 = 0.0;
  for (std::int64_t i = low; i <= high; ++i) {
    const double x = static_cast<double>(i) - middle;
    const double y = values[static_cast<std::size_t>(i)];
    n += 1.0;
    s2 += x * x;
    s4 += x * x * x * x;
    y0 += y;
    y1 += x * y;
    y2 += x * x * y;
  }
  const double determinant = n * s4 - s2 * s2;
  const double c0 = (s4 * y0 - s2 * y2) / determinant;
  const double c1 = y1 / s2;
  const double c2 = (n * y2 - s2 * y0) / determinant;
  const double x = static_cast<double>(centre) - middle;
  return c0 + c1 * x + c2 * x * x;
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

/// What intervals say of a pump, in nats.
struct PumpSigns {
  double two_ends = 0.0;  ///< for two ends of a stroke that differ
  double free = 0.0;      ///< for strokes that delay one another, against what a wheel repeats
  int slowing = 0;        ///< runs in which the pace falls
  int speeding_up = 0;    ///< runs in which it rises

  PumpSigns& operator+=(const PumpSigns& other) {
    two_ends += other.two_ends;
    free += other.free;
    slowing += other.slowing;
    speeding_up += other.speeding_up;
    return *this;
  }
  /// A pump slows down as the reservoir fills, and starts again as fast as before; it never speeds
  /// up. One run that slows down says nothing.
  [[nodiscard]] bool pump() const {
    const double again = slows_again * std::max(0, slowing - 1) + speeds_up * speeding_up;
    return two_ends >= least_two_ends && free + again > pump_odds;
  }
};

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

/// Beats of a stretch between two jumps of the rate, by an octave or nearly, that no train makes: a
/// pump is followed now stroke by stroke, now by whole strokes.
struct Part {
  std::size_t stretch = 0;
  std::span<const PathBeat> beats;
  double rate_hz = 0.0;  ///< median
  PumpSigns signs;
  bool suspect = false;  ///< a pump may have made it
  bool pump = false;     ///< one did
};

double rate_at(std::span<const PathBeat> beats, std::size_t tenths) {
  std::vector<double> rates_hz;
  rates_hz.reserve(beats.size());
  for (const PathBeat& beat : beats)
    rates_hz.push_back(beat.rate_hz);
  const std::size_t at = (rates_hz.size() - 1) * tenths / 10;
  std::nth_element(rates_hz.begin(), rates_hz.begin() + static_cast<std::ptrdiff_t>(at),
                   rates_hz.end());
  return rates_hz[at];
}

bool near_pace(double rate_hz, double other_hz) {
  return rate_hz <= most_pace_change * other_hz && other_hz <= most_pace_change * rate_hz;
}

/// Counts a run as one that slows down or speeds up, by its first and last quarter.
void add_course(std::span<const PathBeat> beats, PumpSigns& signs) {
  constexpr std::size_t enough_beats = 16;
  constexpr double marked = 1.05;
  if (beats.size() < enough_beats) return;
  const std::size_t quarter = beats.size() / 4;
  double first_hz = 0.0;
  double last_hz = 0.0;
  for (std::size_t i = 0; i < quarter; ++i) {
    first_hz += beats[i].rate_hz;
    last_hz += beats[beats.size() - 1 - i].rate_hz;
  }
  signs.slowing += first_hz > marked * last_hz ? 1 : 0;
  signs.speeding_up += last_hz > marked * first_hz ? 1 : 0;
}

Part part_of(std::size_t stretch, std::span<const PathBeat> beats,
             std::span<const Candidate> candidates) {
  Part part;
  part.stretch = stretch;
  part.beats = beats;
  part.rate_hz = rate_at(beats, 5);
  const double least_hz = rate_at(beats, 1);
  const double most_hz = rate_at(beats, 9);
  part.suspect = least_hz >= slowest_pump_hz && most_hz <= fastest_pump_hz &&
                 most_hz <= most_pace_change * least_hz;
  add_course(beats, part.signs);
  if (!part.suspect) return part;
  // Runs of intervals between beats that were heard.
  std::vector<double> intervals_s;
  for (std::size_t i = 1; i <= beats.size(); ++i) {
    if (i < beats.size() && !beats[i].after_unheard) {
      intervals_s.push_back(candidates[beats[i].candidate].time_s -
                            candidates[beats[i - 1].candidate].time_s);
      continue;
    }
    if (intervals_s.size() >= least_intervals) part.signs += signs_of(intervals_s);
    intervals_s.clear();
  }
  return part;
}

std::vector<Part> parts_of(std::span<const ProvedStretch> stretches,
                           std::span<const Candidate> candidates, std::span<const PathBeat> path) {
  constexpr double jump = 1.6;
  std::vector<Part> parts;
  for (std::size_t s = 0; s < stretches.size(); ++s) {
    const std::span<const PathBeat> beats = path.subspan(stretches[s].first, stretches[s].count);
    std::size_t first = 0;
    for (std::size_t k = 1; k <= beats.size(); ++k) {
      if (k < beats.size() && beats[k].rate_hz < jump * beats[k - 1].rate_hz &&
          beats[k - 1].rate_hz < jump * beats[k].rate_hz)
        continue;
      parts.push_back(part_of(s, beats.subspan(first, k - first), candidates));
      first = k;
    }
  }
  return parts;
}

/// Whether the parts of one stretch are a pump's: found to be, or beside such and an octave off,
/// but for a tenth of the beats; an end of a stroke lost here and there acquits no pump.
bool is_pump(std::span<const Part> parts) {
  const auto found =
      std::find_if(parts.begin(), parts.end(), [](const Part& part) { return part.pump; });
  if (found == parts.end()) return false;
  std::size_t beats = 0;
  std::size_t others = 0;
  for (const Part& part : parts) {
    beats += part.beats.size();
    if (part.pump || part.beats.size() < least_beats ||
        near_pace(part.rate_hz, 0.5 * found->rate_hz) ||
        near_pace(part.rate_hz, 2.0 * found->rate_hz))
      continue;
    others += part.beats.size();
  }
  return 10 * others <= beats;
}

}  // namespace

void remove_pumps(std::vector<ProvedStretch>& stretches, std::span<const Candidate> candidates,
                  std::span<const PathBeat> path) {
  std::vector<Part> parts = parts_of(stretches, candidates, path);
  for (Part& part : parts) {
    if (!part.suspect) continue;
    PumpSigns signs;
    for (const Part& other : parts)
      if (other.suspect && near_pace(other.rate_hz, part.rate_hz)) signs += other.signs;
    part.pump = signs.pump();
  }
  // A pump that is known may run farther down in one run than one that is not.
  const auto known = [&](const Part& run) {
    return std::any_of(parts.begin(), parts.end(), [&](const Part& other) {
      return other.suspect && other.pump && near_pace(other.rate_hz, run.rate_hz);
    });
  };
  for (Part& part : parts) {
    if (part.suspect || part.signs.slowing == 0) continue;
    part.pump =
        rate_at(part.beats, 9) <= most_pace_change_of_known * rate_at(part.beats, 1) && known(part);
  }
  std::vector<bool> removed(stretches.size(), false);
  for (std::size_t first = 0; first < parts.size();) {
    std::size_t end = first;
    while (end < parts.size() && parts[end].stretch == parts[first].stretch)
      ++end;
    removed[parts[first].stretch] = is_pump(std::span(parts).subspan(first, end - first));
    first = end;
  }
  std::size_t index = 0;
  std::erase_if(stretches, [&](const ProvedStretch&) { return removed[index++]; });
}

}  // namespace fourbeat::dsp
