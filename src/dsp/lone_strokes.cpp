// SPDX-License-Identifier: GPL-3.0-or-later
#include "lone_strokes.h"

#include "parabola.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <vector>

namespace fourbeat::dsp {

namespace {

/// Seconds without a beat after which nothing is under way any more.
constexpr double silence_s = 10.0;

/// How much longer the usual interval of one third of a stretch is than that of the next, at most;
/// parts an octave off a pump's pace are brought to it, since no train makes such a jump.
double gain_of_pace(std::span<const StretchPart> parts, double pump_hz,
                    std::span<const Candidate> candidates) {
  std::vector<double> intervals_s;
  for (const StretchPart& part : parts) {
    double octave = 1.0;
    if (!near_pace(part.rate_hz, pump_hz) && same_pump(part.rate_hz, pump_hz))
      octave = part.rate_hz > pump_hz ? 2.0 : 0.5;
    for (std::size_t i = 0; i + 1 < part.beats.size(); ++i)
      intervals_s.push_back(octave * mean_interval_s(part.beats, candidates, i, 1));
  }
  const std::size_t third = intervals_s.size() / 3;
  const auto usual_s = [&](std::size_t first) {
    const auto from = intervals_s.begin() + static_cast<std::ptrdiff_t>(first);
    return quantile({from, from + static_cast<std::ptrdiff_t>(third)}, 5);
  };
  const double middle_s = usual_s(third);
  return std::max(usual_s(0) / middle_s, middle_s / usual_s(intervals_s.size() - third));
}

/// Whether beats grow louder and softer again: a parabola through their levels, by least squares,
/// has its highest point among them and curves beyond chance.
bool swells(std::span<const PathBeat> beats, std::span<const Candidate> candidates) {
  // Student's t: by chance a run of 8 beats reaches it once in five hundred times, one of 20 once
  // in twenty thousand.
  constexpr double beyond_chance = 5.0;
  constexpr std::size_t enough_beats = 8;
  if (beats.size() < enough_beats) return false;
  const auto n = static_cast<double>(beats.size());
  const double middle = 0.5 * (n - 1.0);
  Parabola levels_db;
  for (std::size_t i = 0; i < beats.size(); ++i)
    levels_db.add(static_cast<double>(i) - middle, candidates[beats[i].candidate].level_db);
  double squares = 0.0;
  for (std::size_t i = 0; i < beats.size(); ++i) {
    const double off_db =
        candidates[beats[i].candidate].level_db - levels_db.at(static_cast<double>(i) - middle);
    squares += off_db * off_db;
  }
  const double curve_error = std::sqrt(squares / (n - 3.0) * levels_db.curve_variance());
  const double curve = levels_db.curve();
  return curve < -beyond_chance * curve_error &&
         std::fabs(levels_db.slope()) < -2.0 * curve * middle;
}

/// The longest of a stretch's parts, of those that may be a pump's if there are any.
const StretchPart& longest_of(std::span<const StretchPart> parts) {
  return *std::max_element(
      parts.begin(), parts.end(), [](const StretchPart& a, const StretchPart& b) {
        return a.suspect != b.suspect ? b.suspect : a.beats.size() < b.beats.size();
      });
}

/// A stretch's beats, from its parts.
std::span<const PathBeat> beats_of(std::span<const StretchPart> parts) {
  const PathBeat* const first = parts.front().beats.data();
  return {first, parts.back().beats.data() + parts.back().beats.size()};
}

/// Whether one stretch, given by its parts, stands alone if nothing was under way before it.
bool is_lone(std::span<const StretchPart> parts, std::span<const Candidate> candidates) {
  constexpr std::size_t few = 85;
  constexpr std::size_t enough_beats = 5;
  constexpr double sets_off = 1.15;
  const std::span<const PathBeat> beats = beats_of(parts);
  const StretchPart& longest = longest_of(parts);
  return longest.beats.size() >= enough_beats && beats.size() < few &&
         has_pump_paces(paces_of(beats, candidates)) &&
         gain_of_pace(parts, longest.rate_hz, candidates) <= sets_off && !swells(beats, candidates);
}

/// Calls with each stretch's parts.
template <typename Part, typename Call>
void for_each_stretch(std::span<Part> parts, Call call) {
  for (std::size_t first = 0; first < parts.size();) {
    std::size_t end = first;
    while (end < parts.size() && parts[end].stretch == parts[first].stretch)
      ++end;
    call(parts.subspan(first, end - first));
    first = end;
  }
}

}  // namespace

void count_lone(std::span<StretchPart> parts, std::span<const Candidate> candidates) {
  double ended_s = 0.0;
  for_each_stretch(parts, [&](std::span<StretchPart> stretch) {
    const std::span<const PathBeat> beats = beats_of(stretch);
    const double from_s = candidates[beats.front().candidate].time_s;
    if (from_s >= ended_s + silence_s && is_lone(stretch, candidates))
      stretch[static_cast<std::size_t>(&longest_of(stretch) - stretch.data())].signs.lone = 1;
    ended_s = candidates[beats.back().candidate].time_s;
  });
}

bool are_lone_strokes(std::span<const ProvedStretch> stretches,
                      std::span<const Candidate> candidates, std::span<const PathBeat> path,
                      double take_s) {
  constexpr double small_share = 0.1;
  const std::vector<StretchPart> parts = parts_of(stretches, candidates, path);
  double sounding_s = 0.0;
  bool all_lone = true;
  for_each_stretch(std::span(parts), [&](std::span<const StretchPart> stretch) {
    const std::span<const PathBeat> beats = beats_of(stretch);
    const double from_s = candidates[beats.front().candidate].time_s;
    sounding_s += candidates[beats.back().candidate].time_s - from_s;
    all_lone = all_lone && from_s >= silence_s && is_lone(stretch, candidates);
  });
  return all_lone && sounding_s < small_share * take_s;
}

}  // namespace fourbeat::dsp
