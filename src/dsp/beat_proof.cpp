// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_proof.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::dsp {

namespace {

/// An event counts when it has half a beat's strength.
constexpr double event_share = 0.5;
/// Such events an interval, apart from the beats: near an engine, and where nothing beats.
constexpr double extra_beating = 0.1;
constexpr double extra_random = 1.0;
/// Share of beats that fall short of that strength, likewise.
constexpr double short_beating = 0.15;
constexpr double short_random = 0.5;
constexpr double missing_beating = 0.05;
/// Spread of a train's acceleration, in beats/s²; a share of the rate that is the grid's grain.
constexpr double acceleration_sigma = 0.5;
constexpr double rate_grain = 0.031;
/// Spread of a change of ln(rate) that the next interval takes back.
constexpr double reversal_sigma = 0.1;
/// Spread of ln(interval × rate) of a beating source (Student's t, 3 degrees of freedom), and
/// the half width of its even spread where nothing beats.
constexpr double interval_sigma = 0.05;
constexpr double interval_reach = 0.20;
/// Bounds of one interval's say, so that no single one decides.
constexpr double most_for = 1.5;
constexpr double most_against = -4.0;
/// Evidence that a run must have in all, and that ends one when lost again.
constexpr double enough = 11.0;
constexpr double lost = 6.0;
constexpr std::size_t least_beats = 5;
constexpr std::size_t around = 4;

double timing_evidence(double interval_s, double rate_hz) {
  constexpr double t3_peak = 0.36755;
  const double stray = plain_ln(interval_s * rate_hz) / interval_sigma;
  const double beating =
      plain_ln(t3_peak / interval_sigma) - 2.0 * plain_ln(1.0 + stray * stray / 3.0);
  const double random = -plain_ln(2.0 * interval_reach);
  return beating - random;
}

std::size_t strong_between(std::span<const Candidate> candidates, std::size_t from,
                           std::size_t to) {
  std::size_t count = 0;
  for (std::size_t i = from + 1; i < to; ++i)
    if (candidates[i].strength > event_share * candidates[i].reference) ++count;
  return count;
}

/// A beat of half the strength and more is likelier from a beating source; one under a quarter
/// is hardly one.
double strength_evidence(const Candidate& candidate) {
  const double share = candidate.strength / candidate.reference;
  if (share <= 0.5 * event_share) return plain_ln(missing_beating / short_random);
  if (share <= event_share) return plain_ln(short_beating / short_random);
  return plain_ln((1.0 - short_beating) / (1.0 - short_random));
}

/// A train does not speed up and slow down from beat to beat.
double reversal_evidence(std::span<const PathBeat> path, std::size_t k) {
  if (k < 2 || path[k].starts || path[k - 1].starts) return 0.0;
  const double now = plain_ln(path[k].rate_hz / path[k - 1].rate_hz);
  const double before = plain_ln(path[k - 1].rate_hz / path[k - 2].rate_hz);
  if (now * before >= 0.0) return 0.0;
  const double turn = std::min(std::fabs(now), std::fabs(before)) / reversal_sigma;
  return -2.0 * plain_ln(1.0 + turn * turn / 3.0);
}

/// Nor does it change speed faster than a train can. One step of the rates' grid says nothing.
double acceleration_evidence(std::span<const PathBeat> path, std::size_t k, double interval_s) {
  if (path[k - 1].starts) return 0.0;
  const double change_hz = std::fabs(path[k].rate_hz - path[k - 1].rate_hz);
  const double beyond_hz = std::max(0.0, change_hz - rate_grain * path[k].rate_hz);
  const double pull = beyond_hz / interval_s / acceleration_sigma;
  return -2.0 * plain_ln(1.0 + pull * pull / 3.0);
}

/// Evidence of each interval; [k]: the one that ends at beat k. A stretch's first is 0.
std::vector<double> interval_evidence(std::span<const Candidate> candidates,
                                      std::span<const PathBeat> path) {
  std::vector<double> evidence(path.size(), 0.0);
  for (std::size_t k = 1; k < path.size(); ++k) {
    if (path[k].starts) continue;
    const std::size_t from = path[k - 1].candidate;
    const std::size_t to = path[k].candidate;
    const double step_s = candidates[to].time_s - candidates[from].time_s;
    const double interval_s = path[k].after_unheard ? 0.5 * step_s : step_s;
    const double unheard = path[k].after_unheard ? plain_ln(missing_beating / short_random) : 0.0;
    const auto extras = static_cast<double>(strong_between(candidates, from, to));
    const double events =
        extras * plain_ln(extra_beating / extra_random) + extra_random - extra_beating;
    const double spacing =
        std::min(most_for, events + timing_evidence(interval_s, path[k].rate_hz));
    evidence[k] =
        std::clamp(spacing + strength_evidence(candidates[to]) + reversal_evidence(path, k) +
                       acceleration_evidence(path, k, interval_s) + unheard,
                   most_against, most_for);
  }
  return evidence;
}

/// Runs of intervals of the path's [first, end) whose sum rises by `enough` before falling by
/// `lost` (the cumulative-sum test, Page 1954), each from its lowest to its highest point.
void find_runs(std::span<const double> evidence, std::size_t first, std::size_t end,
               std::vector<ProvedStretch>& found) {
  std::size_t start = first;
  std::size_t best_at = first;
  double sum = 0.0;
  double best = 0.0;
  const auto close = [&]() {
    const std::size_t count = best_at - start + 1;
    if (best >= enough && count >= least_beats) {
      ProvedStretch stretch;
      stretch.first = start;
      stretch.count = count;
      found.push_back(std::move(stretch));
    }
  };
  for (std::size_t k = first + 1; k < end; ++k) {
    sum += evidence[k];
    if (sum > best) {
      best = sum;
      best_at = k;
    }
    if (sum <= 0.0 && best < enough) {
      start = k;
      best_at = k;
      sum = best = 0.0;
    } else if (sum < best - lost) {
      close();
      start = k;
      best_at = k;
      sum = best = 0.0;
    }
  }
  close();
}

}  // namespace

std::vector<ProvedStretch> prove_stretches(std::span<const Candidate> candidates,
                                           std::span<const PathBeat> path) {
  const std::vector<double> evidence = interval_evidence(candidates, path);
  std::vector<ProvedStretch> found;
  for (std::size_t first = 0; first < path.size();) {
    std::size_t end = first + 1;
    while (end < path.size() && !path[end].starts)
      ++end;
    find_runs(evidence, first, end, found);
    first = end;
  }
  for (ProvedStretch& stretch : found) {
    for (std::size_t k = 0; k < stretch.count; ++k) {
      const std::size_t low = std::max<std::size_t>(1, k > around ? k - around : 1);
      const std::size_t high = std::min(stretch.count - 1, k + around);
      double sum = 0.0;
      for (std::size_t i = low; i <= high; ++i)
        sum += evidence[stretch.first + i];
      stretch.evidence.push_back(sum / static_cast<double>(high - low + 1));
    }
  }
  return found;
}

}  // namespace fourbeat::dsp
