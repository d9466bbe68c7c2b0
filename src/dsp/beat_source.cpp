// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_source.h"

#include "pump_signs.h"

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <utility>

namespace fourbeat::dsp {

namespace {

/// Strokes a second that a pump makes, whole at the slowest and single at the fastest, with room to
/// spare, and how far its pace may change in one run; a tenth at either end is not looked at.
constexpr double slowest_strokes_hz = 0.35;
constexpr double fastest_pump_hz = 3.4;
constexpr double most_pace_change = 1.35;
constexpr std::size_t least_intervals = 8;
constexpr std::size_t least_beats = 5;
/// Evidence in nats: no one run speaks stronger for others against their being a pump, but for
/// itself it may.
constexpr double least_free_of_run = -4.0;
constexpr double wheel_by_itself = -8.0;
/// Odds, in nats, at which a pump is told apart from a train within one stretch.
constexpr double sure_odds = 3.0;

/// Beats of a stretch between two jumps of the rate, by an octave or nearly, that no train makes: a
/// pump is followed now stroke by stroke, now by whole strokes.
struct Part {
  std::size_t stretch = 0;
  std::span<const PathBeat> beats;
  double rate_hz = 0.0;  ///< median
  PumpSigns signs;
  bool suspect = false;  ///< a pump may have made it
  bool pump = false;     ///< one did
  double odds = 0.0;     ///< of that, in nats, where suspect

  [[nodiscard]] bool may_be_pump() const {
    return rate_hz >= slowest_strokes_hz && rate_hz <= fastest_pump_hz;
  }
};

/// The value under which `tenths` of them lie.
double quantile(std::vector<double> values, std::size_t tenths) {
  const std::size_t at = (values.size() - 1) * tenths / 10;
  std::nth_element(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(at), values.end());
  return values[at];
}

std::vector<double> rates_of(std::span<const PathBeat> beats) {
  std::vector<double> rates_hz;
  rates_hz.reserve(beats.size());
  for (const PathBeat& beat : beats)
    rates_hz.push_back(beat.rate_hz);
  return rates_hz;
}

bool near_pace(double rate_hz, double other_hz) {
  return rate_hz <= most_pace_change * other_hz && other_hz <= most_pace_change * rate_hz;
}

/// Mean interval over `intervals` of them from beat `first` on.
double mean_interval_s(std::span<const PathBeat> beats, std::span<const Candidate> candidates,
                       std::size_t first, std::size_t intervals) {
  double count = 0.0;
  for (std::size_t i = first + 1; i <= first + intervals; ++i)
    count += beats[i].after_unheard ? 2.0 : 1.0;
  return (candidates[beats[first + intervals].candidate].time_s -
          candidates[beats[first].candidate].time_s) /
         count;
}

/// Paces over every four intervals, an even number, so that the ends of a stroke weigh the same; of
/// fewer beats, the path's.
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

/// A ratio of paces, those by single and by whole strokes taken as one.
double folded(double ratio) {
  if (ratio > std::numbers::sqrt2) return 0.5 * ratio;
  return ratio < 0.5 * std::numbers::sqrt2 ? 2.0 * ratio : ratio;
}

/// Whether two paces are one pump's, by single or by whole strokes.
bool same_pump(double rate_hz, double other_hz) {
  constexpr double octave_within = 1.2;
  const double ratio = rate_hz > other_hz ? rate_hz / other_hz : other_hz / rate_hz;
  return ratio <= most_pace_change ||
         (ratio >= 2.0 / octave_within && ratio <= 2.0 * octave_within);
}

/// Beats of a part without a gap: first and count.
struct EvenRun {
  std::size_t part = 0;
  std::size_t first = 0;
  std::size_t count = 0;
};

/// The parts' runs in which no interval is half as long again as the one beside it.
std::vector<EvenRun> even_runs(std::span<const Part> parts, std::span<const Candidate> candidates) {
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
void add_pauses(std::span<Part> parts, std::span<const Candidate> candidates) {
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

Part part_of(std::size_t stretch, std::span<const PathBeat> beats,
             std::span<const Candidate> candidates) {
  Part part;
  part.stretch = stretch;
  part.beats = beats;
  part.rate_hz = quantile(rates_of(beats), 5);
  std::vector<double> paces_hz = paces_of(beats, candidates);
  const bool one_octave = quantile(paces_hz, 9) <= most_pace_change * quantile(paces_hz, 1);
  for (double& pace_hz : paces_hz)
    pace_hz = part.rate_hz * folded(pace_hz / part.rate_hz);
  part.suspect = quantile(paces_hz, 1) >= slowest_strokes_hz &&
                 quantile(paces_hz, 9) <= fastest_pump_hz &&
                 quantile(paces_hz, 9) <= most_pace_change * quantile(paces_hz, 1);
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

std::vector<Part> parts_of(std::span<const ProvedStretch> stretches,
                           std::span<const Candidate> candidates, std::span<const PathBeat> path) {
  constexpr double jump = 1.6;
  std::vector<Part> parts;
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

/// Beats of the first parts of a stretch, all together and of each kind.
struct Shares {
  std::size_t beats = 0;
  std::size_t pumps = 0;   ///< of parts that are a pump's
  std::size_t others = 0;  ///< neither that nor at its pace, nor an octave off
};

Shares shares_of(const Part& part, double pump_hz) {
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

PumpEnds pump_ends(std::span<const Part> parts) {
  PumpEnds ends;
  const auto found =
      std::find_if(parts.begin(), parts.end(), [](const Part& part) { return part.pump; });
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

/// How much longer the usual interval of one third of a stretch is than that of the next, at most;
/// paces by single and by whole strokes as one.
double gain_of_pace(std::span<const PathBeat> beats, std::span<const Candidate> candidates) {
  const std::size_t third = (beats.size() - 1) / 3;
  const auto usual_s = [&](std::size_t first) {
    std::vector<double> intervals_s;
    intervals_s.reserve(third);
    for (std::size_t i = first; i < first + third; ++i)
      intervals_s.push_back(mean_interval_s(beats, candidates, i, 1));
    return quantile(std::move(intervals_s), 5);
  };
  const double middle_s = usual_s(third);
  return std::max(folded(usual_s(0) / middle_s),
                  folded(middle_s / usual_s(beats.size() - 1 - third)));
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
  std::vector<Part> parts = parts_of(stretches, candidates, path);
  add_pauses(parts, candidates);
  for (Part& part : parts) {
    if (!part.suspect) continue;
    PumpSigns signs;
    for (const Part& other : parts)
      if (other.suspect && same_pump(other.rate_hz, part.rate_hz)) {
        signs += other.signs;
        signs.free += std::max(0.0, least_free_of_run - other.signs.free);
      }
    part.pump = signs.pump() && part.signs.free > wheel_by_itself;
    part.odds = signs.odds();
  }
  // A pump that is known may run farther down in one run than one that is not, and lose strokes.
  const auto known = [&](const Part& run) {
    return std::any_of(parts.begin(), parts.end(), [&](const Part& other) {
      if (!other.suspect || !other.pump || !near_pace(other.rate_hz, run.rate_hz)) return false;
      const auto at_its_pace = std::count_if(
          run.beats.begin(), run.beats.end(),
          [&](const PathBeat& beat) { return near_pace(beat.rate_hz, other.rate_hz); });
      return 4 * at_its_pace >= 3 * static_cast<std::ptrdiff_t>(run.beats.size());
    });
  };
  for (Part& part : parts) {
    if (!part.suspect && part.signs.slowing > 0)
      part.pump = known(part) && part.signs.free > least_free_of_run;
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

bool are_lone_strokes(std::span<const ProvedStretch> stretches,
                      std::span<const Candidate> candidates, std::span<const PathBeat> path,
                      double take_s) {
  constexpr std::size_t few = 40;
  constexpr double small_share = 0.1;
  constexpr double heard_from_s = 10.0;
  constexpr double sets_off = 1.15;
  double sounding_s = 0.0;
  for (const ProvedStretch& stretch : stretches) {
    const std::span<const PathBeat> own = path.subspan(stretch.first, stretch.count);
    const double from_s = candidates[own.front().candidate].time_s;
    sounding_s += candidates[own.back().candidate].time_s - from_s;
    const std::vector<double> paces_hz = paces_of(own, candidates);
    if (own.size() >= few || from_s < heard_from_s || quantile(paces_hz, 1) < slowest_strokes_hz ||
        quantile(paces_hz, 9) > fastest_pump_hz || gain_of_pace(own, candidates) > sets_off)
      return false;
  }
  return sounding_s < small_share * take_s;
}

}  // namespace fourbeat::dsp
