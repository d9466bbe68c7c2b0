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
/// What an engine that is known to beat pays when its wheels break away or grip again.
constexpr double slip_price = 3.0;
/// Spread of a change of ln(rate) that the next interval takes back.
constexpr double reversal_sigma = 0.1;
/// Spread of ln(interval × rate) of a beating source (Student's t, 3 degrees of freedom), and
/// the half width of its even spread where nothing beats.
constexpr double beating_sigma = 0.05;
constexpr double interval_reach = 0.20;
/// What the path gains an interval by choosing among events at random those that fit.
constexpr double choice = 0.45;
/// Bounds of one interval's say, so that no single one decides.
constexpr double most_for = 1.05;
constexpr double most_against = -4.0;
/// Evidence that a run must have in all, and that ends one when lost again; a run that has enough
/// outlasts a slip of the wheels.
constexpr double enough = 9.0;
constexpr double lost = 6.0;
constexpr double lost_when_proved = 18.0;
constexpr std::size_t least_beats = 5;
constexpr std::size_t around = 4;

/// off: ln(interval × rate), less what repeats with the revolution.
double timing_evidence(double off) {
  constexpr double t3_peak = 0.36755;
  const double stray = off / beating_sigma;
  const double beating =
      plain_ln(t3_peak / beating_sigma) - 2.0 * plain_ln(1.0 + stray * stray / 3.0);
  const double random = -plain_ln(2.0 * interval_reach);
  return beating - random;
}

std::size_t strong_between(std::span<const Candidate> candidates, std::size_t from, std::size_t to,
                           double rate_hz) {
  const double share = event_share * strength_share(rate_hz);
  std::size_t count = 0;
  for (std::size_t i = from + 1; i < to; ++i)
    if (candidates[i].strength > share * candidates[i].reference) ++count;
  return count;
}

/// A beat of half the strength and more is likelier from a beating source; one under a quarter
/// is hardly one.
double strength_evidence(const Candidate& candidate, double rate_hz) {
  const double share = candidate.strength / candidate.reference / strength_share(rate_hz);
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

/// Unless its wheels slip: the change then has its price once, and over the next intervals goes on
/// at none.
double slip_evidence(std::span<const PathBeat> path, std::size_t k) {
  if (path[k - 1].starts) return 0.0;
  const bool goes_on =
      k >= 2 && !path[k - 2].starts &&
      (path[k].rate_hz - path[k - 1].rate_hz) * (path[k - 1].rate_hz - path[k - 2].rate_hz) > 0.0;
  return goes_on ? 0.0 : -slip_price;
}

/// Logarithm of each interval of a stretch; [k]: the one that ends at beat k; the first is 0.
std::vector<double> ln_intervals(std::span<const Candidate> candidates,
                                 std::span<const PathBeat> stretch) {
  std::vector<double> ln(stretch.size(), 0.0);
  for (std::size_t k = 1; k < stretch.size(); ++k) {
    const double step_s =
        candidates[stretch[k].candidate].time_s - candidates[stretch[k - 1].candidate].time_s;
    ln[k] = plain_ln(stretch[k].after_unheard ? 0.5 * step_s : step_s);
  }
  return ln;
}

/// Mean over the `width` intervals around each, the first (no interval) left out.
std::vector<double> smooth(std::span<const double> ln, std::size_t width) {
  std::vector<double> sums(ln.size() + 1, 0.0);
  for (std::size_t k = 0; k < ln.size(); ++k)
    sums[k + 1] = sums[k] + ln[k];
  std::vector<double> out(ln.size(), 0.0);
  for (std::size_t k = 1; k < ln.size(); ++k) {
    const std::size_t low =
        std::clamp<std::size_t>(k > width / 2 ? k - width / 2 : 1, 1, ln.size() - width);
    out[k] = (sums[low + width] - sums[low]) / static_cast<double>(width);
  }
  return out;
}

/// Strays less what repeats with every `places`th beat: place by place the mean over six
/// revolutions either way, itself left out. Returns how far their sum of squares falls by it.
double less_repeated(std::span<const double> off, std::size_t places, std::vector<double>& out) {
  constexpr std::size_t revolutions = 6;
  out.assign(off.begin(), off.end());
  double before = 0.0;
  double after = 0.0;
  for (std::size_t k = 1; k < off.size(); ++k) {
    double sum = 0.0;
    double count = 0.0;
    const std::size_t back = std::min(revolutions, (k - 1) / places);
    for (std::size_t i = k - back * places; i < off.size() && i <= k + revolutions * places;
         i += places) {
      if (i == k) continue;
      sum += off[i];
      count += 1.0;
    }
    if (count > 0.0) out[k] -= sum / count;
    before += off[k] * off[k];
    after += out[k] * out[k];
  }
  return before / std::max(1e-9, after);
}

/// The revolution's own rhythm, where a stretch has one: where the intervals a revolution off
/// foretell each far better than evenness does. Then the rates become those without the rhythm, and
/// `off` what is left of the strays.
void take_out_rhythm(std::span<const Candidate> candidates, std::span<PathBeat> stretch,
                     std::span<double> off) {
  constexpr double far_better = 2.5;
  constexpr std::size_t least_revolutions = 4;
  const std::vector<double> ln = ln_intervals(candidates, stretch);
  std::vector<double> best;
  std::vector<double> best_smooth;
  double most = far_better;
  for (const std::size_t places : {2U, 3U, 4U, 6U, 8U}) {
    if (stretch.size() <= least_revolutions * places + 1) continue;
    std::vector<double> even = smooth(ln, places > 4 ? places : 2 * places);
    std::vector<double> strays(ln.size(), 0.0);
    for (std::size_t k = 1; k < ln.size(); ++k)
      strays[k] = ln[k] - even[k];
    std::vector<double> rest;
    const double gain = less_repeated(strays, places, rest);
    if (gain <= most) continue;
    most = 1.2 * gain;  // a longer pattern must be worth it
    best = std::move(rest);
    best_smooth = std::move(even);
  }
  if (best.empty()) return;
  for (std::size_t k = 1; k < stretch.size(); ++k) {
    off[k] = best[k];
    stretch[k].rate_hz = std::exp(-best_smooth[k]);
  }
  stretch[0].rate_hz = stretch[1].rate_hz;
}

/// Fills the evidence of each interval. off: see timing_evidence().
void weigh_intervals(std::span<const Candidate> candidates, std::span<const PathBeat> path,
                     std::span<const double> off, PathEvidence& evidence) {
  evidence.rolling.assign(path.size(), 0.0);
  evidence.slipping.assign(path.size(), 0.0);
  for (std::size_t k = 1; k < path.size(); ++k) {
    if (path[k].starts) continue;
    const std::size_t from = path[k - 1].candidate;
    const std::size_t to = path[k].candidate;
    const double step_s = candidates[to].time_s - candidates[from].time_s;
    const double interval_s = path[k].after_unheard ? 0.5 * step_s : step_s;
    const double unheard = path[k].after_unheard ? plain_ln(missing_beating / short_random) : 0.0;
    const auto extras = static_cast<double>(strong_between(candidates, from, to, path[k].rate_hz));
    const double events =
        extras * plain_ln(extra_beating / extra_random) + extra_random - extra_beating;
    const double spacing = std::min(most_for, events + timing_evidence(off[k]));
    const double all_but_speed = spacing + strength_evidence(candidates[to], path[k].rate_hz) +
                                 reversal_evidence(path, k) + unheard - choice;
    const double rolls = acceleration_evidence(path, k, interval_s);
    const double slips = std::max(rolls, slip_evidence(path, k));
    evidence.rolling[k] = std::clamp(all_but_speed + rolls, most_against, most_for);
    evidence.slipping[k] = std::clamp(all_but_speed + slips, most_against, most_for);
  }
}

/// Runs of intervals of the path's [first, end) whose sum rises by `enough` before falling by
/// `lost` (the cumulative-sum test, Page 1954), each from its lowest to its highest point. once:
/// the evidence that counts once there is enough.
void find_runs(const PathEvidence& evidence, std::span<const double> once, std::size_t first,
               std::size_t end, std::vector<ProvedStretch>& found) {
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
    sum += best >= enough ? once[k] : evidence.rolling[k];
    if (sum > best) {
      best = sum;
      best_at = k;
    }
    if (sum <= 0.0 && best < enough) {
      start = k;
      best_at = k;
      sum = best = 0.0;
    } else if (sum < best - (best >= enough ? lost_when_proved : lost)) {
      close();
      start = k;
      best_at = k;
      sum = best = 0.0;
    }
  }
  close();
}

std::vector<ProvedStretch> all_runs(const PathEvidence& evidence, std::span<const double> once) {
  std::vector<ProvedStretch> found;
  for (std::size_t i = 0; i + 1 < evidence.starts.size(); ++i)
    find_runs(evidence, once, evidence.starts[i], evidence.starts[i + 1], found);
  for (ProvedStretch& stretch : found) {
    for (std::size_t k = 0; k < stretch.count; ++k) {
      const std::size_t low = std::max<std::size_t>(1, k > around ? k - around : 1);
      const std::size_t high = std::min(stretch.count - 1, k + around);
      double sum = 0.0;
      for (std::size_t i = low; i <= high; ++i)
        sum += once[stretch.first + i];
      stretch.evidence.push_back(sum / static_cast<double>(high - low + 1));
    }
  }
  return found;
}

bool overlap(const ProvedStretch& a, const ProvedStretch& b) {
  return a.first < b.first + b.count && b.first < a.first + a.count;
}

bool same_beats(const ProvedStretch& a, const ProvedStretch& b) {
  return a.first == b.first && a.count == b.count;
}

}  // namespace

PathEvidence weigh_path(std::span<const Candidate> candidates, std::span<const PathBeat> path) {
  std::vector<PathBeat> even(path.begin(), path.end());
  std::vector<double> off(path.size(), 0.0);
  PathEvidence evidence;
  for (std::size_t k = 0; k < path.size(); ++k)
    if (path[k].starts) evidence.starts.push_back(k);
  evidence.starts.push_back(path.size());
  for (std::size_t i = 0; i + 1 < evidence.starts.size(); ++i) {
    const std::size_t first = evidence.starts[i];
    const std::size_t count = evidence.starts[i + 1] - first;
    const std::span<PathBeat> stretch = std::span(even).subspan(first, count);
    const std::span<double> strays = std::span(off).subspan(first, count);
    const std::vector<double> ln = ln_intervals(candidates, stretch);
    for (std::size_t k = 1; k < count; ++k)
      strays[k] = ln[k] + plain_ln(stretch[k].rate_hz);
    take_out_rhythm(candidates, stretch, strays);
  }
  weigh_intervals(candidates, even, off, evidence);
  return evidence;
}

std::vector<ProvedStretch> prove_stretches(const PathEvidence& evidence) {
  return all_runs(evidence, evidence.rolling);
}

std::vector<ProvedStretch> follow_through_slips(const PathEvidence& evidence,
                                                std::span<const ProvedStretch> proved,
                                                const std::vector<ProvedStretch>& kept) {
  std::vector<ProvedStretch> out;
  for (ProvedStretch& run : all_runs(evidence, evidence.slipping)) {
    const auto is_kept = [&](const ProvedStretch& part) {
      return std::any_of(kept.begin(), kept.end(),
                         [&](const ProvedStretch& one) { return same_beats(one, part); });
    };
    const bool whole = std::all_of(proved.begin(), proved.end(), [&](const ProvedStretch& part) {
      return !overlap(run, part) || is_kept(part);
    });
    const bool any = std::any_of(kept.begin(), kept.end(),
                                 [&](const ProvedStretch& part) { return overlap(run, part); });
    if (whole && any) out.push_back(std::move(run));
  }
  const std::size_t runs = out.size();
  for (const ProvedStretch& part : kept) {
    const bool covered = std::any_of(out.begin(), out.begin() + static_cast<std::ptrdiff_t>(runs),
                                     [&](const ProvedStretch& run) { return overlap(run, part); });
    if (!covered) out.push_back(part);
  }
  std::sort(out.begin(), out.end(),
            [](const ProvedStretch& a, const ProvedStretch& b) { return a.first < b.first; });
  return out;
}

}  // namespace fourbeat::dsp
