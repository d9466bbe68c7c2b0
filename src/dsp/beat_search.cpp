// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_search.h"

#include "beat_candidates.h"
#include "beat_octave.h"
#include "beat_source.h"
#include "lone_strokes.h"
#include "plain_log.h"

#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <cstddef>
#include <limits>
#include <span>
#include <utility>

namespace fourbeat::dsp {

namespace {

/// Beat rate that the hints leave possible.
double greatest_rate_hz(const BeatHints& hints) {
  if (!hints.driver_diameter_mm || !hints.beats_per_rev)
    return std::numeric_limits<double>::infinity();
  // Steam's rail speed record is 203 km/h (1938).
  constexpr double record_kmh = 203.0;
  constexpr double margin = 1.1;
  const double top_kmh = margin * hints.top_speed_kmh.value_or(record_kmh);
  return 1.0 / beat_interval_s(top_kmh, *hints.driver_diameter_mm, *hints.beats_per_rev);
}

/// Beat rates the path may have.
PathParams limits_of(const BeatHints& hints) {
  PathParams params;
  params.greatest_rate_hz =
      std::clamp(greatest_rate_hz(hints), 2.0 * params.least_rate_hz, params.greatest_rate_hz);
  return params;
}

/// What of the stretches lies outside the fused ones.
std::vector<ProvedStretch> less_fused(const std::vector<ProvedStretch>& stretches,
                                      std::span<const Candidate> candidates,
                                      std::span<const PathBeat> path,
                                      std::span<const FusedStretch> fused) {
  const auto is_fused = [&](std::size_t beat) {
    const double time_s = candidates[path[beat].candidate].time_s;
    return std::any_of(fused.begin(), fused.end(), [&](const FusedStretch& stretch) {
      const double interval_s = stretch.beats[1].time_s - stretch.beats[0].time_s;
      return time_s > stretch.beats.front().time_s - 0.5 * interval_s &&
             time_s < stretch.beats.back().time_s + 0.5 * interval_s;
    });
  };
  std::vector<ProvedStretch> out;
  for (const ProvedStretch& stretch : stretches) {
    for (std::size_t i = 0; i < stretch.count; ++i) {
      if (is_fused(stretch.first + i)) continue;
      if (i == 0 || is_fused(stretch.first + i - 1)) out.push_back({stretch.first + i, 0, {}});
      ++out.back().count;
      out.back().evidence.push_back(stretch.evidence[i]);
    }
  }
  return out;
}

/// Whether 98 of 100 beats of two paths are the same.
bool nearly_same(std::span<const PathBeat> a, std::span<const PathBeat> b) {
  std::size_t same = 0;
  std::size_t at = 0;
  for (const PathBeat& beat : a) {
    while (at < b.size() && b[at].candidate < beat.candidate)
      ++at;
    if (at < b.size() && b[at].candidate == beat.candidate) ++same;
  }
  return 100 * same >= 98 * std::max(a.size(), b.size());
}

/// The path, its idea of a beat's strength learnt from the beats themselves.
Result<std::vector<PathBeat>> learnt_path(std::vector<Candidate>& candidates,
                                          const PathParams& params, JobControl& job) {
  constexpr int passes = 2;
  Result<std::vector<PathBeat>> path = best_path(candidates, params, job);
  for (int pass = 0; pass < passes && path; ++pass) {
    job.progress((1.0 + pass) / (2.0 + passes), "beats");
    learn_references(candidates, *path);
    Result<std::vector<PathBeat>> next = best_path(candidates, params, job);
    const bool settled = next && nearly_same(*path, *next);
    path = std::move(next);
    if (settled) break;
  }
  // Twice: of four beats three may be weak.
  for (int round = 0; round < 2 && path; ++round) {
    if (!admit_weak_beats(candidates, *path, params.greatest_rate_hz)) break;
    path = best_path(candidates, params, job);
  }
  return path;
}

double evidence_of(const BeatSearch& search) {
  double sum = 0.0;
  for (const ProvedStretch& stretch : search.proved) {
    for (std::size_t i = 0; i < stretch.count; ++i) {
      const Candidate& beat = search.candidates[search.path[stretch.first + i].candidate];
      sum += std::max(0.0, stretch.evidence[i]) * plain_ln(1.0 + beat.strength);
    }
  }
  for (const FusedStretch& stretch : search.fused)
    for (const FusedBeat& beat : stretch.beats)
      sum += plain_ln(1.0 + beat.line);
  return sum;
}

}  // namespace

Result<BeatSearch> search_beats(SampleSource& samples, double sample_rate_hz,
                                const BeatHints& hints, JobControl& job) {
  BeatSearch search;
  Result<OnsetStrength> onsets = onset_strength(samples, sample_rate_hz, job);
  if (!onsets) return onsets.error();
  search.onsets = *std::move(onsets);
  search.candidates = find_candidates(search.onsets);
  Result<std::vector<PathBeat>> path = learnt_path(search.candidates, limits_of(hints), job);
  if (!path) return path.error();
  search.path = *std::move(path);
  Result<std::vector<FusedStretch>> fused =
      find_fused(search.onsets, samples, sample_rate_hz, greatest_rate_hz(hints), job);
  if (!fused) return fused.error();
  search.fused = *std::move(fused);
  const PathEvidence evidence = weigh_path(search.candidates, search.path);
  const std::vector<ProvedStretch> proved = prove_stretches(evidence);
  search.proved = proved;
  remove_pumps(search.proved, search.candidates, search.path);
  const double take_s = static_cast<double>(samples.frames().value()) / sample_rate_hz;
  if (search.fused.empty() &&
      are_lone_strokes(search.proved, search.candidates, search.path, take_s))
    search.proved.clear();
  search.proved = follow_through_slips(evidence, proved, search.proved);
  search.proved = less_fused(search.proved, search.candidates, search.path, search.fused);
  search.evidence = evidence_of(search);
  return search;
}

}  // namespace fourbeat::dsp
