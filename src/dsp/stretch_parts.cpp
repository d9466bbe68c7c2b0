// SPDX-License-Identifier: GPL-3.0-or-later
#include "stretch_parts.h"

#include <algorithm>
#include <numbers>

namespace fourbeat::dsp {

namespace {

/// Strokes a second that a pump makes, whole at the slowest and single at the fastest, with room to
/// spare, and how far its pace may change in one run; a tenth at either end is not looked at.
constexpr double slowest_strokes_hz = 0.35;
constexpr double fastest_pump_hz = 3.4;
constexpr double most_pace_change = 1.35;
constexpr std::size_t least_intervals = 8;

std::vector<double> rates_of(std::span<const PathBeat> beats) {
  std::vector<double> rates_hz;
  rates_hz.reserve(beats.size());
  for (const PathBeat& beat : beats)
    rates_hz.push_back(beat.rate_hz);
  return rates_hz;
}

/// Counts a run as one that slows down or speeds up, by its first and last quarter.
void add_course(std::span<const PathBeat> beats, std::span<const Candidate> candidates,
                PumpSigns& signs) {
  constexpr std::size_t enough_beats = 16;
  constexpr double marked = 1.05;
  if (beats.size() < enough_beats) return;
  // Even numbers, so that the ends of a stroke weigh the same.
  const std::size_t quarter = beats.size() / 8 * 2;
  const double first_s = mean_interval_s(beats, candidates, 0, quarter);
  const double last_s = mean_interval_s(beats, candidates, beats.size() - 1 - quarter, quarter);
  signs.slowing += last_s > marked * first_s ? 1 : 0;
  signs.speeding_up += first_s > marked * last_s ? 1 : 0;
}

StretchPart part_of(std::size_t stretch, std::span<const PathBeat> beats,
                    std::span<const Candidate> candidates) {
  StretchPart part;
  part.stretch = stretch;
  part.beats = beats;
  part.rate_hz = quantile(rates_of(beats), 5);
  std::vector<double> paces_hz = paces_of(beats, candidates);
  const bool one_octave = quantile(paces_hz, 9) <= most_pace_change * quantile(paces_hz, 1);
  for (double& pace_hz : paces_hz)
    pace_hz = part.rate_hz * folded(pace_hz / part.rate_hz);
  part.suspect =
      has_pump_paces(paces_hz) && quantile(paces_hz, 9) <= most_pace_change * quantile(paces_hz, 1);
  // Strokes followed now singly, now by twos, say nothing of themselves.
  if (part.suspect && !one_octave) return part;
  add_course(beats, candidates, part.signs);
  if (!part.may_be_pump()) return part;
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

}  // namespace

bool StretchPart::may_be_pump() const {
  return rate_hz >= slowest_strokes_hz && rate_hz <= fastest_pump_hz;
}

std::vector<StretchPart> parts_of(std::span<const ProvedStretch> stretches,
                                  std::span<const Candidate> candidates,
                                  std::span<const PathBeat> path) {
  constexpr double jump = 1.6;
  std::vector<StretchPart> parts;
  for (std::size_t s = 0; s < stretches.size(); ++s) {
    const std::span<const PathBeat> beats = path.subspan(stretches[s].first, stretches[s].count);
    std::size_t first = 0;
    for (std::size_t k = 1; k <= beats.size(); ++k) {
      // The path may take two steps to another octave.
      const double before_hz = beats[k >= first + 2 ? k - 2 : k - 1].rate_hz;
      if (k < beats.size() && beats[k].rate_hz < jump * before_hz &&
          before_hz < jump * beats[k].rate_hz)
        continue;
      parts.push_back(part_of(s, beats.subspan(first, k - first), candidates));
      first = k;
    }
  }
  return parts;
}

bool has_pump_paces(std::span<const double> paces_hz) {
  const std::vector<double> paces(paces_hz.begin(), paces_hz.end());
  return quantile(paces, 1) >= slowest_strokes_hz && quantile(paces, 9) <= fastest_pump_hz;
}

std::vector<double> paces_of(std::span<const PathBeat> beats,
                             std::span<const Candidate> candidates) {
  constexpr std::size_t intervals = 4;
  if (beats.size() <= intervals) return rates_of(beats);
  std::vector<double> paces_hz;
  paces_hz.reserve(beats.size() - intervals);
  for (std::size_t first = 0; first + intervals < beats.size(); ++first)
    paces_hz.push_back(1.0 / mean_interval_s(beats, candidates, first, intervals));
  return paces_hz;
}

bool near_pace(double rate_hz, double other_hz) {
  return rate_hz <= most_pace_change * other_hz && other_hz <= most_pace_change * rate_hz;
}

bool same_pump(double rate_hz, double other_hz) {
  constexpr double octave_within = 1.2;
  const double ratio = rate_hz > other_hz ? rate_hz / other_hz : other_hz / rate_hz;
  return ratio <= most_pace_change ||
         (ratio >= 2.0 / octave_within && ratio <= 2.0 * octave_within);
}

double folded(double ratio) {
  if (ratio > std::numbers::sqrt2) return 0.5 * ratio;
  return ratio < 0.5 * std::numbers::sqrt2 ? 2.0 * ratio : ratio;
}

double mean_interval_s(std::span<const PathBeat> beats, std::span<const Candidate> candidates,
                       std::size_t first, std::size_t intervals) {
  double count = 0.0;
  for (std::size_t i = first + 1; i <= first + intervals; ++i)
    count += beats[i].after_unheard ? 2.0 : 1.0;
  return (candidates[beats[first + intervals].candidate].time_s -
          candidates[beats[first].candidate].time_s) /
         count;
}

double quantile(std::vector<double> values, std::size_t tenths) {
  const std::size_t at = (values.size() - 1) * tenths / 10;
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(at), values.end());
  return values[at];
}

}  // namespace fourbeat::dsp
