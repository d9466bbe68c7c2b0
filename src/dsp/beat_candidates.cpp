// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_candidates.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <functional>

namespace fourbeat::dsp {

namespace {

constexpr double least_strength = 2.0;
/// A beat's step in standard deviations of the noise: under this nothing is a beat by itself.
constexpr double least_reference = 8.0;
constexpr double reference_reach_s = 2.5;
/// Share of the reference under which a candidate is not even a weak beat.
constexpr double hopeless = 0.06;

/// Strength from which on it counts less and less: a step of ten deviations is sure, and one of a
/// hundred no surer. Beats under a whistle, or of wheels that slip, stay comparable with others.
constexpr double sure_strength = 10.0;

double bounded(double strength) {
  return strength <= sure_strength ? strength
                                   : sure_strength * (1.0 + plain_ln(strength / sure_strength));
}

/// Local peaks of the strength.
std::vector<std::size_t> peaks_of(std::span<const float> s) {
  std::vector<std::size_t> peaks;
  for (std::size_t i = 2; i + 2 < s.size(); ++i) {
    if (s[i] < least_strength) continue;
    if (s[i] < s[i - 1] || s[i] < s[i - 2] || s[i] <= s[i + 1] || s[i] <= s[i + 2]) continue;
    peaks.push_back(i);
  }
  return peaks;
}

/// Hops to the nearest stronger peak.
std::size_t reach_of(std::span<const std::size_t> peaks, std::size_t k, std::span<const float> s) {
  constexpr std::size_t far = 64;
  std::size_t reach = far;
  for (std::size_t i = k; i-- > 0 && peaks[k] - peaks[i] < reach;)
    if (s[peaks[i]] > s[peaks[k]]) reach = peaks[k] - peaks[i];
  for (std::size_t i = k + 1; i < peaks.size() && peaks[i] - peaks[k] < reach; ++i)
    if (s[peaks[i]] > s[peaks[k]]) reach = peaks[i] - peaks[k];
  return reach;
}

/// Index, with its fraction, at which the level rises most over 20 ms, near a peak of the strength:
/// longer spans find a step surely, this one where it is.
double steepest_near(const OnsetStrength& onsets, std::size_t peak) {
  constexpr std::size_t reach = 4;
  constexpr std::size_t span = 4;
  const std::size_t low = peak > reach ? peak - reach : 1;
  const std::size_t high = std::min(peak + reach, onsets.strength.size() - 2);
  const auto rise = [&](std::size_t at) {
    return static_cast<double>(onsets.strength_within(at, span));
  };
  std::size_t best = peak;
  for (std::size_t at = low; at <= high; ++at)
    if (rise(at) > rise(best)) best = at;
  const double before = rise(best - 1);
  const double after = rise(best + 1);
  const double curve = before - 2.0 * rise(best) + after;
  const double shift = curve < 0.0 ? std::clamp(0.5 * (before - after) / curve, -0.5, 0.5) : 0.0;
  return static_cast<double>(best) + shift;
}

/// Where beats may be. A peak beside a stronger one counts for what it shows by itself: long spans
/// see the stronger step from afar.
std::vector<Candidate> candidates_of(const OnsetStrength& onsets) {
  std::vector<Candidate> candidates;
  const std::vector<float>& s = onsets.strength;
  const std::vector<std::size_t> peaks = peaks_of(s);
  for (std::size_t k = 0; k < peaks.size(); ++k) {
    const std::size_t i = peaks[k];
    Candidate candidate;
    candidate.strength =
        bounded(static_cast<double>(onsets.strength_within(i, reach_of(peaks, k, s))));
    if (candidate.strength < least_strength) continue;
    candidate.time_s = onsets.time_s(steepest_near(onsets, i));
    candidate.level_db = level_after(onsets, candidate.time_s);
    // Two peaks may have one steepest place: the stronger keeps it.
    if (!candidates.empty() && candidate.time_s < candidates.back().time_s + onsets.hop_s) {
      if (candidate.strength <= candidates.back().strength) continue;
      candidates.pop_back();
      if (!candidates.empty() && candidate.time_s <= candidates.back().time_s) continue;
    }
    candidates.push_back(candidate);
  }
  return candidates;
}

/// First guess of what a beat is worth around each candidate: the third strongest within reach,
/// which one loud click does not govern, and of which slow beats still leave enough.
void guess_references(std::span<Candidate> candidates) {
  std::vector<double> near;
  std::size_t first = 0;
  std::size_t last = 0;
  for (Candidate& candidate : candidates) {
    while (last < candidates.size() &&
           candidates[last].time_s <= candidate.time_s + reference_reach_s)
      ++last;
    while (candidates[first].time_s < candidate.time_s - reference_reach_s)
      ++first;
    near.clear();
    for (std::size_t i = first; i < last; ++i)
      near.push_back(candidates[i].strength);
    const std::size_t rank = std::min<std::size_t>(2, near.size() - 1);
    std::nth_element(near.begin(), near.begin() + static_cast<std::ptrdiff_t>(rank), near.end(),
                     std::greater<>());
    candidate.reference = std::max(least_reference, near[rank]);
  }
}

}  // namespace

double level_after(const OnsetStrength& onsets, double time_s) {
  constexpr double span_s = 0.04;
  const auto size = static_cast<std::int64_t>(onsets.level_db.size());
  const auto from =
      std::clamp<std::int64_t>(std::llround((time_s - onsets.first_s) / onsets.hop_s), 0, size - 1);
  const auto to =
      std::clamp<std::int64_t>(from + std::llround(span_s / onsets.hop_s), from + 1, size);
  return *std::max_element(onsets.level_db.begin() + from, onsets.level_db.begin() + to);
}

std::vector<Candidate> find_candidates(const OnsetStrength& onsets) {
  std::vector<Candidate> candidates = candidates_of(onsets);
  guess_references(candidates);
  std::erase_if(candidates, [](const Candidate& candidate) {
    return candidate.strength < hopeless * candidate.reference;
  });
  return candidates;
}

/// The median of the nearest beats.
void learn_references(std::span<Candidate> candidates, std::span<const PathBeat> path) {
  constexpr std::size_t count = 16;
  if (path.size() < 4) return;
  std::vector<double> near;
  std::size_t first = 0;
  const std::size_t wanted = std::min(count, path.size());
  const auto time_of = [&](std::size_t beat) { return candidates[path[beat].candidate].time_s; };
  for (Candidate& candidate : candidates) {
    while (first + wanted < path.size() &&
           time_of(first + wanted) - candidate.time_s < candidate.time_s - time_of(first))
      ++first;
    // Only where the beats are: a far-off engine says nothing about here.
    constexpr double reach_s = 10.0;
    near.clear();
    for (std::size_t i = first; i < first + wanted; ++i)
      if (std::fabs(time_of(i) - candidate.time_s) <= reach_s)
        near.push_back(candidates[path[i].candidate].strength / strength_share(path[i].rate_hz));
    if (near.size() < 4) continue;
    const auto middle = near.begin() + static_cast<std::ptrdiff_t>(near.size() / 2);
    std::nth_element(near.begin(), middle, near.end());
    candidate.reference = std::max(least_reference, *middle);
  }
}

}  // namespace fourbeat::dsp
