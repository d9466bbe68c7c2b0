// SPDX-License-Identifier: GPL-3.0-or-later
#include "wheel_turns.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace fourbeat::dsp {

namespace {

/// Intervals looked at on either side.
constexpr std::size_t reach = 3;
/// An interval this much longer than those around it holds more than one beat; no speed change and
/// no limp does that to one interval alone.
constexpr double more_than_one = 1.6;
/// And it must be that near to a whole number of beats.
constexpr double near_whole = 0.35;
/// Two intervals each shorter than the first, together about one, hold a beat that is none.
constexpr double part_of_one = 0.75;
constexpr double about_one = 0.3;
/// What the tracker gives a beat that it filled in (beat_tracker.h).
constexpr double unheard_confidence = 0.1;

/// Median of the intervals within reach of `at`, less `skip` of them from `at` on; 0: too few.
double around(std::span<const double> intervals, std::size_t at, std::size_t skip) {
  std::vector<double> near;
  for (std::size_t i = at > reach ? at - reach : 0; i < at; ++i)
    near.push_back(intervals[i]);
  for (std::size_t i = at + skip; i < std::min(intervals.size(), at + skip + reach); ++i)
    near.push_back(intervals[i]);
  if (near.size() < reach) return 0.0;
  const auto middle = near.begin() + static_cast<std::ptrdiff_t>(near.size() / 2);
  std::nth_element(near.begin(), middle, near.end());
  return *middle;
}

/// Beats of the stretch that are beats, as indices into `times`.
std::vector<std::size_t> without_extra(std::span<const double> times) {
  std::vector<double> intervals;
  for (std::size_t i = 1; i < times.size(); ++i)
    intervals.push_back(times[i] - times[i - 1]);
  std::vector<std::size_t> kept;
  for (std::size_t i = 0; i < times.size(); ++i) {
    if (i >= 2 && i + 2 < times.size()) {
      const double one = around(intervals, i - 1, 2);
      const double both = intervals[i - 1] + intervals[i];
      if (one > 0.0 && std::max(intervals[i - 1], intervals[i]) < part_of_one * one &&
          std::fabs(both / one - 1.0) < about_one && kept.back() == i - 1) {
        continue;
      }
    }
    kept.push_back(i);
  }
  return kept;
}

/// How many beats each interval holds.
std::vector<int> beats_held(std::span<const double> intervals) {
  std::vector<int> held(intervals.size(), 1);
  for (std::size_t i = 1; i + 1 < intervals.size(); ++i) {
    const double one = around(intervals, i, 1);
    if (!(one > 0.0)) continue;
    const double ratio = intervals[i] / one;
    // Long neighbours too: an engine that starts or stops.
    const double beside = std::max(intervals[i - 1], intervals[i + 1]) / one;
    if (ratio < more_than_one || beside > more_than_one) continue;
    const double whole = std::round(ratio);
    if (std::fabs(ratio - whole) <= near_whole) held[i] = static_cast<int>(whole);
  }
  return held;
}

}  // namespace

BeatSpan beats_in(const BeatTrack& track, const FrameRange& range) {
  const auto before = [](const Beat& beat, FrameIndex frame) { return beat.frame < frame; };
  const auto from = std::lower_bound(track.beats.begin(), track.beats.end(), range.start, before);
  const auto to = std::lower_bound(from, track.beats.end(), range.end, before);
  return {static_cast<std::size_t>(from - track.beats.begin()),
          static_cast<std::size_t>(to - from)};
}

std::vector<TurnedBeat> turned_beats(const BeatTrack& track, const BeatStretch& stretch,
                                     int beats_per_rev, std::span<const double> angles_deg) {
  const auto [first, count] = beats_in(track, stretch.range);
  const std::span<const Beat> beats = std::span(track.beats).subspan(first, count);
  std::vector<double> times;
  for (const Beat& beat : beats)
    times.push_back(beat.time_s);
  const std::vector<std::size_t> kept = without_extra(times);
  std::vector<double> intervals;
  for (std::size_t i = 1; i < kept.size(); ++i)
    intervals.push_back(times[kept[i]] - times[kept[i - 1]]);
  const std::vector<int> held = beats_held(intervals);
  const auto per_rev = static_cast<std::int64_t>(beats_per_rev);
  std::vector<TurnedBeat> turned;
  std::int64_t counted = 0;
  for (std::size_t i = 0; i < kept.size(); ++i) {
    if (i > 0) counted += held[i - 1];
    TurnedBeat one;
    one.beat = first + kept[i];
    one.time_s = times[kept[i]];
    // Where beats fuse none is heard by itself, and all are by their rate.
    one.heard = stretch.fused || beats[kept[i]].confidence > unheard_confidence;
    constexpr double faintest = 1e-6;
    one.level_db = 2.0 * plain_db(std::max(beats[kept[i]].strength, faintest));
    one.turned = static_cast<double>(counted);
    one.place = static_cast<int>(counted % per_rev);
    turned.push_back(one);
  }
  // Where the count stands in the revolution: what most positions say.
  std::vector<std::size_t> votes(static_cast<std::size_t>(beats_per_rev), 0);
  for (const TurnedBeat& one : turned) {
    const std::optional<int>& position = beats[one.beat - first].position;
    if (!position || *position < 0 || *position >= beats_per_rev) continue;
    ++votes[static_cast<std::size_t>((*position + beats_per_rev - one.place) % beats_per_rev)];
  }
  const auto most = std::max_element(votes.begin(), votes.end());
  const bool placed = *most > 0;
  const std::int64_t shift = placed ? most - votes.begin() : 0;
  const bool uneven = placed && angles_deg.size() == votes.size();
  for (TurnedBeat& one : turned) {
    const std::int64_t at = static_cast<std::int64_t>(one.turned) + shift;
    one.place = static_cast<int>(at % per_rev);
    const double within = uneven ? angles_deg[static_cast<std::size_t>(one.place)] / 360.0 *
                                       static_cast<double>(beats_per_rev)
                                 : static_cast<double>(one.place);
    one.turned = static_cast<double>(at - one.place) + within;
  }
  return turned;
}

}  // namespace fourbeat::dsp
