// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_source.h"

#include "lone_strokes.h"
#include "stretch_parts.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <utility>

namespace fourbeat::dsp {

namespace {

constexpr std::size_t least_beats = 5;
/// Evidence in nats: no one run speaks stronger for others against their being a pump, but for
/// itself it may, and is then a wheel's unless all are surely a pump's with its own say in full.
constexpr double least_free_of_run = -4.0;
constexpr double wheel_by_itself = -8.0;
/// Odds, in nats, at which a pump is told apart from a train within one stretch.
constexpr double sure_odds = 3.0;

/// Beats of a part without a gap: first and count.
struct EvenRun {
  std::size_t part = 0;
  std::size_t first = 0;
  std::size_t count = 0;
};

/// The parts' runs in which no interval is half as long again as the one beside it.
std::vector<EvenRun> even_runs(std::span<const StretchPart> parts,
                               std::span<const Candidate> candidates) {
  constexpr double even = 1.5;
  std::vector<EvenRun> runs;
  for (std::size_t p = 0; p < parts.size(); ++p) {
    const std::span<const PathBeat> beats = parts[p].beats;
    if (!parts[p].may_be_pump()) continue;
    EvenRun run{p, 0, 1};
    double last_s = 0.0;
    for (std::size_t k = 1; k <= beats.size(); ++k) {
      const double now_s = k < beats.size() ? mean_interval_s(beats, candidates, k - 1, 1) : 0.0;
      if (k < beats.size() && (run.count < 2 || (now_s < even * last_s && last_s < even * now_s))) {
        ++run.count;
        last_s = now_s;
        continue;
      }
      if (run.count >= least_beats) runs.push_back(run);
      run = {p, k, 1};
    }
  }
  return runs;
}

/// Counts the runs that begin faster or slower than the one before ended, a pause lying between:
/// paces by single and by whole strokes are compared as one.
void add_pauses(std::span<StretchPart> parts, std::span<const Candidate> candidates) {
  constexpr std::size_t intervals = least_beats - 1;
  constexpr double pause_intervals = 1.7;
  constexpr double marked = 1.1;
  const std::vector<EvenRun> runs = even_runs(parts, candidates);
  for (std::size_t i = 1; i < runs.size(); ++i) {
    const EvenRun& before = runs[i - 1];
    const EvenRun& after = runs[i];
    const std::span<const PathBeat> ended = parts[before.part].beats;
    const std::span<const PathBeat> begins = parts[after.part].beats;
    const std::size_t last = before.first + before.count - 1;
    const double ended_s = mean_interval_s(ended, candidates, last - intervals, intervals);
    const double begins_s = mean_interval_s(begins, candidates, after.first, intervals);
    const double pause_s =
        candidates[begins[after.first].candidate].time_s - candidates[ended[last].candidate].time_s;
    if (!same_pump(ended_s, begins_s) || pause_s < pause_intervals * std::max(ended_s, begins_s))
      continue;
    const double ratio = folded(ended_s / begins_s);
    parts[after.part].signs.fresh += ratio > marked ? 1 : 0;
    parts[after.part].signs.tired += ratio * marked < 1.0 ? 1 : 0;
  }
}

/// Beats of the first parts of a stretch, all together and of each kind.
struct Shares {
  std::size_t beats = 0;
  std::size_t pumps = 0;   ///< of parts that are a pump's
  std::size_t others = 0;  ///< neither that nor at its pace, nor an octave off
};

Shares shares_of(const StretchPart& part, double pump_hz) {
  Shares shares;
  shares.beats = part.beats.size();
  if (part.pump) {
    shares.pumps = shares.beats;
  } else if (!part.may_be_pump()) {
    shares.others = shares.beats;
  } else if (shares.beats >= least_beats) {
    shares.others = static_cast<std::size_t>(
        std::count_if(part.beats.begin(), part.beats.end(), [&](const PathBeat& beat) {
          return !near_pace(beat.rate_hz, pump_hz) && !near_pace(beat.rate_hz, 0.5 * pump_hz) &&
                 !near_pace(beat.rate_hz, 2.0 * pump_hz);
        }));
  }
  return shares;
}

/// First beats of a stretch, and last, that are a pump's, from its parts: where a quarter of them
/// is found to be, and the rest at its pace or an octave off but for a tenth; an end of a stroke
/// lost here and there acquits no pump. A train that sets off beside it keeps its beats.
struct PumpEnds {
  std::size_t first = 0;
  std::size_t last = 0;
};

PumpEnds pump_ends(std::span<const StretchPart> parts) {
  PumpEnds ends;
  const auto found =
      std::find_if(parts.begin(), parts.end(), [](const StretchPart& part) { return part.pump; });
  if (found == parts.end()) return ends;
  std::vector<Shares> before(parts.size() + 1);
  for (std::size_t i = 0; i < parts.size(); ++i) {
    const Shares own = shares_of(parts[i], found->rate_hz);
    before[i + 1] = {before[i].beats + own.beats, before[i].pumps + own.pumps,
                     before[i].others + own.others};
  }
  const auto is_pump = [&](std::size_t from, std::size_t to) {
    const std::size_t beats = before[to].beats - before[from].beats;
    return 10 * (before[to].others - before[from].others) <= beats &&
           4 * (before[to].pumps - before[from].pumps) >= beats;
  };
  if (is_pump(0, parts.size())) {
    ends.first = before.back().beats;
    return ends;
  }
  if (found->odds < sure_odds) return ends;
  std::size_t to = parts.size();
  while (to > 0 && !is_pump(0, to))
    --to;
  std::size_t from = to;
  while (from < parts.size() && !is_pump(from, parts.size()))
    ++from;
  ends.first = before[to].beats;
  ends.last = before.back().beats - before[from].beats;
  return ends;
}

/// A stretch less its first and last beats.
ProvedStretch cut(const ProvedStretch& stretch, const PumpEnds& ends) {
  ProvedStretch rest;
  rest.first = stretch.first + ends.first;
  rest.count = stretch.count - ends.first - ends.last;
  const auto from = stretch.evidence.begin() + static_cast<std::ptrdiff_t>(ends.first);
  rest.evidence.assign(from, from + static_cast<std::ptrdiff_t>(rest.count));
  return rest;
}

}  // namespace

void remove_pumps(std::vector<ProvedStretch>& stretches, std::span<const Candidate> candidates,
                  std::span<const PathBeat> path) {
  std::vector<StretchPart> parts = parts_of(stretches, candidates, path);
  add_pauses(parts, candidates);
  count_lone(parts, candidates);
  for (StretchPart& part : parts) {
    if (!part.suspect) continue;
    PumpSigns signs;
    for (const StretchPart& other : parts)
      if (other.suspect && same_pump(other.rate_hz, part.rate_hz)) {
        signs += other.signs;
        signs.free += std::max(0.0, least_free_of_run - other.signs.free);
      }
    const double in_full = signs.odds() - std::max(0.0, least_free_of_run - part.signs.free);
    part.pump = signs.pump() && (part.signs.free > wheel_by_itself || in_full > sure_odds);
    part.odds = signs.odds();
  }
  // A pump that is known may run farther down in one run than one that is not, lose strokes, or
  // rest within it; its strokes are followed by ones and by twos.
  const auto known = [&](const StretchPart& run) {
    return std::any_of(parts.begin(), parts.end(), [&](const StretchPart& other) {
      if (!other.suspect || !other.pump) return false;
      const auto at_its_pace = std::count_if(
          run.beats.begin(), run.beats.end(),
          [&](const PathBeat& beat) { return same_pump(beat.rate_hz, other.rate_hz); });
      return 4 * at_its_pace >= 3 * static_cast<std::ptrdiff_t>(run.beats.size());
    });
  };
  for (StretchPart& part : parts) {
    if (part.suspect) continue;
    const double least_free = part.signs.slowing > 0 ? least_free_of_run : 0.0;
    part.pump = part.signs.free > least_free && known(part);
  }
  std::vector<ProvedStretch> kept;
  for (std::size_t first = 0; first < parts.size();) {
    std::size_t end = first;
    while (end < parts.size() && parts[end].stretch == parts[first].stretch)
      ++end;
    const ProvedStretch& stretch = stretches[parts[first].stretch];
    const PumpEnds ends = pump_ends(std::span(parts).subspan(first, end - first));
    if (ends.first + ends.last + least_beats <= stretch.count) kept.push_back(cut(stretch, ends));
    first = end;
  }
  stretches = std::move(kept);
}

}  // namespace fourbeat::dsp
