// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_regroup.h"

#include "beat_pattern.h"
#include "plain_log.h"
#include "wheel_turns.h"

#include <algorithm>

namespace fourbeat::dsp {

namespace {

/// Intervals from a stretch within which a beat set by hand belongs to it.
constexpr double joins_within = 2.2;
/// Farthest two beats set by hand alone are one engine's: the slowest beats followed, uneven.
constexpr double lone_within_s = 3.3;

/// Runs of beats [first, first + count).
struct Run {
  std::size_t first = 0;
  std::size_t count = 0;
  bool touched = false;
};

/// Gives beats set by hand between two beats of one stretch that stretch.
void adopt(std::vector<HandledBeat>& beats) {
  std::optional<std::size_t> before;
  std::size_t open = 0;
  for (std::size_t i = 0; i < beats.size(); ++i) {
    if (!beats[i].stretch) continue;
    if (before == beats[i].stretch) {
      for (std::size_t k = open; k < i; ++k) {
        beats[k].stretch = before;
        beats[k].joins_stretch = true;
      }
    }
    before = beats[i].stretch;
    open = i + 1;
  }
}

double gap_s(const std::vector<HandledBeat>& beats, std::size_t i) {
  return beats[i + 1].beat.time_s - beats[i].beat.time_s;
}

std::vector<Run> runs_of(const std::vector<HandledBeat>& beats, const std::vector<bool>& touched) {
  std::vector<Run> runs;
  for (std::size_t i = 0; i < beats.size(); ++i) {
    bool joins = false;
    if (i > 0) {
      const std::optional<std::size_t>& left = beats[i - 1].stretch;
      const std::optional<std::size_t>& right = beats[i].stretch;
      if (left && right) {
        joins = left == right;
      } else {
        double interval = runs.back().count > 1 ? gap_s(beats, i - 2) : 0.0;
        if (right && i + 1 < beats.size() && beats[i + 1].stretch == right)
          interval = std::max(interval, gap_s(beats, i));
        joins = gap_s(beats, i - 1) <= (interval > 0.0 ? joins_within * interval : lone_within_s);
      }
    }
    if (!joins) runs.push_back({i, 0, false});
    Run& run = runs.back();
    ++run.count;
    const bool by_hand = !beats[i].stretch || beats[i].joins_stretch;
    run.touched = run.touched || by_hand || touched[*beats[i].stretch];
  }
  return runs;
}

/// Positions of touched runs: by the pattern that the revolution has, turned as the untouched ones.
void set_positions(std::span<Beat> beats, const std::vector<Run>& runs, int per_rev) {
  RevolutionPattern pattern;
  std::vector<std::vector<int>> places;
  std::optional<int> turn;
  for (const Run& run : runs) {
    const std::span<const Beat> own = beats.subspan(run.first, run.count);
    const double usual_tilt_db = mean_tilt_db(own);
    std::vector<BeatTraits> traits;
    for (const Beat& beat : own) {
      constexpr double least = 1e-6;
      traits.push_back({beat.time_s, 2.0 * plain_db(std::max(beat.strength, least)),
                        beat.tilt_db.value_or(usual_tilt_db)});
    }
    places.push_back(revolution_places(traits, per_rev, pattern));
    const std::optional<int>& known = beats[run.first].position;
    if (!run.touched && !turn && known && !places.back().empty())
      turn = (*known - places.back().front() + per_rev) % per_rev;
  }
  for (std::size_t r = 0; r < runs.size(); ++r) {
    const Run& run = runs[r];
    if (!run.touched) continue;
    for (std::size_t i = 0; i < run.count; ++i) {
      std::optional<int>& position = beats[run.first + i].position;
      position.reset();
      if (!places[r].empty()) position = (places[r][i] + turn.value_or(0)) % per_rev;
    }
  }
}

double median_interval_s(std::span<const Beat> beats) {
  std::vector<double> intervals;
  for (std::size_t i = 1; i < beats.size(); ++i)
    intervals.push_back(beats[i].time_s - beats[i - 1].time_s);
  const auto middle = intervals.begin() + static_cast<std::ptrdiff_t>(intervals.size() / 2);
  std::nth_element(intervals.begin(), middle, intervals.end());
  return *middle;
}

}  // namespace

BeatTrack regrouped(const BeatTrack& before, std::vector<HandledBeat> beats,
                    const std::vector<bool>& touched, std::optional<int> per_rev) {
  adopt(beats);
  const std::vector<Run> runs = runs_of(beats, touched);
  BeatTrack track;
  for (const HandledBeat& handled : beats)
    track.beats.push_back(handled.beat);
  if (per_rev) set_positions(track.beats, runs, *per_rev);
  for (const Run& run : runs) {
    if (run.count < 2) continue;
    const std::span<const Beat> part = std::span(track.beats).subspan(run.first, run.count);
    BeatStretch stretch;
    if (const std::optional<std::size_t>& from = beats[run.first].stretch; from)
      stretch = before.stretches[*from];
    if (run.touched) {
      stretch.range = {part.front().frame, part.back().frame + FrameCount(1)};
      stretch.median_interval_s = median_interval_s(part);
    }
    track.stretches.push_back(stretch);
  }
  return track;
}

void set_revolutions(BeatTrack& track, std::span<const std::size_t> zeros, int per_rev) {
  if (zeros.empty()) return;
  const auto n = static_cast<std::int64_t>(per_rev);
  std::int64_t turn = 0;
  const std::optional<int>& first = track.beats[zeros.front()].position;
  if (first) turn = n - *first;
  for (const BeatStretch& stretch : track.stretches) {
    const BeatSpan span = beats_in(track, stretch.range);
    std::vector<std::size_t> inside;
    std::copy_if(zeros.begin(), zeros.end(), std::back_inserter(inside), [&](std::size_t zero) {
      return zero >= span.first && zero < span.first + span.count;
    });
    std::sort(inside.begin(), inside.end());
    for (std::size_t i = span.first; i < span.first + span.count; ++i) {
      std::optional<int>& position = track.beats[i].position;
      if (inside.empty()) {
        if (first && position) position = static_cast<int>((*position + turn) % n);
        continue;
      }
      const auto after = std::upper_bound(inside.begin(), inside.end(), i);
      const std::size_t zero = after == inside.begin() ? inside.front() : *(after - 1);
      const auto away = static_cast<std::int64_t>(i) - static_cast<std::int64_t>(zero);
      position = static_cast<int>((away % n + n) % n);
    }
  }
}

}  // namespace fourbeat::dsp
