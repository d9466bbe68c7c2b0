// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/beat_tracker.h"

#include "beat_octave.h"
#include "beat_path.h"
#include "beat_pattern.h"
#include "beat_proof.h"
#include "beat_time.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/dsp/onset.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <string>
#include <string_view>
#include <utility>

namespace fourbeat::dsp {

namespace {

constexpr double least_strength = 2.0;
/// A beat's step in standard deviations of the noise: under this nothing is a beat by itself.
constexpr double least_reference = 10.0;
constexpr double reference_reach_s = 2.5;
/// Share of the reference under which a candidate is not even a weak beat.
constexpr double hopeless = 0.06;

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
    candidate.strength = static_cast<double>(onsets.strength_within(i, reach_of(peaks, k, s)));
    if (candidate.strength < least_strength) continue;
    candidate.time_s = onsets.time_s(steepest_near(onsets, i));
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

/// What beats are worth, from the beats found: the median of the nearest ones.
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
        near.push_back(candidates[path[i].candidate].strength);
    if (near.size() < 4) continue;
    const auto middle = near.begin() + static_cast<std::ptrdiff_t>(near.size() / 2);
    std::nth_element(near.begin(), middle, near.end());
    candidate.reference = std::max(least_reference, *middle);
  }
}

std::optional<Error> refusal(const BeatHints& hints) {
  const auto bad = [](std::string_view place, std::string_view detail) {
    return Error{ErrorCode::bad_argument, "", std::string(place), std::string(detail), ""};
  };
  // Comparisons are turned so that NaN is refused too.
  if (hints.driver_diameter_mm &&
      !(*hints.driver_diameter_mm >= 200.0 && *hints.driver_diameter_mm <= 4000.0))
    return bad("driver diameter", "must be 200 to 4000 mm");
  if (hints.beats_per_rev && !(*hints.beats_per_rev >= 1 && *hints.beats_per_rev <= 24))
    return bad("beats per revolution", "must be 1 to 24");
  if (hints.top_speed_kmh && !(*hints.top_speed_kmh >= 1.0 && *hints.top_speed_kmh <= 300.0))
    return bad("top speed", "must be 1 to 300 km/h");
  return std::nullopt;
}

/// Beat rates that the hints leave possible.
PathParams limits_of(const BeatHints& hints) {
  PathParams params;
  // Steam's rail speed record is 203 km/h (1938).
  constexpr double record_kmh = 203.0;
  constexpr double margin = 1.1;
  if (hints.driver_diameter_mm && hints.beats_per_rev) {
    const double top_kmh = margin * hints.top_speed_kmh.value_or(record_kmh);
    const double fastest_hz =
        1.0 / beat_interval_s(top_kmh, *hints.driver_diameter_mm, *hints.beats_per_rev);
    params.greatest_rate_hz =
        std::clamp(fastest_hz, 2.0 * params.least_rate_hz, params.greatest_rate_hz);
  }
  return params;
}

/// The path, its idea of a beat's strength learnt from the beats themselves.
Result<std::vector<PathBeat>> learnt_path(std::vector<Candidate>& candidates,
                                          const PathParams& params, JobControl& job) {
  constexpr int passes = 2;
  guess_references(candidates);
  std::erase_if(candidates, [](const Candidate& candidate) {
    return candidate.strength < hopeless * candidate.reference;
  });
  Result<std::vector<PathBeat>> path = best_path(candidates, params, job);
  for (int pass = 0; pass < passes && path; ++pass) {
    job.progress((1.0 + pass) / (2.0 + passes), "beats");
    learn_references(candidates, *path);
    path = best_path(candidates, params, job);
  }
  // Twice: of four beats three may be weak.
  for (int round = 0; round < 2 && path; ++round) {
    if (!admit_weak_beats(candidates, *path, params.greatest_rate_hz)) break;
    path = best_path(candidates, params, job);
  }
  return path;
}

/// Loudest level in the 40 ms after an attack.
double level_after(const OnsetStrength& onsets, double time_s) {
  constexpr double span_s = 0.04;
  const auto size = static_cast<std::int64_t>(onsets.level_db.size());
  const auto from =
      std::clamp<std::int64_t>(std::llround((time_s - onsets.first_s) / onsets.hop_s), 0, size - 1);
  const auto to =
      std::clamp<std::int64_t>(from + std::llround(span_s / onsets.hop_s), from + 1, size);
  return *std::max_element(onsets.level_db.begin() + from, onsets.level_db.begin() + to);
}

/// Speeds over the revolution around each beat.
void set_speeds(std::span<Beat> beats, const BeatHints& hints) {
  constexpr int usual_beats_per_rev = 4;
  const int per_rev = hints.beats_per_rev.value_or(usual_beats_per_rev);
  const std::size_t last = beats.size() - 1;
  const std::size_t span = std::min(last, static_cast<std::size_t>(per_rev));
  for (std::size_t i = 0; i < beats.size(); ++i) {
    const std::size_t low = std::min(i >= span / 2 ? i - span / 2 : 0, last - span);
    const double mean_s =
        (beats[low + span].time_s - beats[low].time_s) / static_cast<double>(span);
    beats[i].speed_kmh = beat_speed_kmh(mean_s, *hints.driver_diameter_mm, per_rev);
  }
}

/// 0 to 1 from the evidence around a beat (nats an interval) and its own strength.
double confidence_of(double evidence, const Candidate& candidate) {
  const double beating = 1.0 / (1.0 + std::exp(-4.0 * evidence));
  const double clear = std::min(1.0, candidate.strength / candidate.reference / 0.5);
  return beating * (0.5 + 0.5 * clear);
}

class TrackMaker {
 public:
  TrackMaker(audio::MonoView samples, double sample_rate_hz, const BeatHints& hints,
             const OnsetStrength& onsets)
      : samples_(samples), sample_rate_hz_(sample_rate_hz), hints_(hints), onsets_(onsets) {}

  Status add(const ProvedStretch& stretch, std::span<const Candidate> candidates,
             std::span<const PathBeat> path, JobControl& job) {
    const std::span<const PathBeat> part = path.subspan(stretch.first, stretch.count);
    const std::size_t first_beat = track_.beats.size();
    for (std::size_t i = 0; i < part.size(); ++i) {
      if (i % 64 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
      const Candidate& candidate = candidates[part[i].candidate];
      const double confidence = confidence_of(stretch.evidence[i], candidate);
      if (i > 0 && part[i].after_unheard) {
        constexpr double unheard_confidence = 0.1;
        const double before_s = candidates[part[i - 1].candidate].time_s;
        add_beat(0.5 * (before_s + candidate.time_s), part[i].rate_hz,
                 unheard_confidence * confidence, first_beat);
      }
      add_beat(candidate.time_s, part[i].rate_hz, confidence, first_beat);
    }
    std::vector<double> levels;
    for (const Beat& beat : std::span(track_.beats).subspan(first_beat))
      levels.push_back(level_after(onsets_, beat.time_s));
    finish(std::span(track_.beats).subspan(first_beat), levels);
    return ok();
  }

  BeatTrack take() { return std::move(track_); }

 private:
  /// A beat at the attack near near_s, if it comes after the one before.
  void add_beat(double near_s, double rate_hz, double confidence, std::size_t first_beat) {
    const double time_s =
        attack_time_s(samples_, sample_rate_hz_, near_s, 1.0 / rate_hz).value_or(near_s);
    const auto frame = std::clamp<std::int64_t>(std::llround(time_s * sample_rate_hz_), 0,
                                                static_cast<std::int64_t>(samples_.size()) - 1);
    if (track_.beats.size() > first_beat && frame <= track_.beats.back().frame.value()) return;
    Beat beat;
    beat.frame = FrameIndex(frame);
    beat.time_s = static_cast<double>(frame) / sample_rate_hz_;
    beat.confidence = confidence;
    track_.beats.push_back(beat);
  }

  void finish(std::span<Beat> beats, std::span<const double> levels) {
    if (beats.size() < 2) return;
    const double loudest = *std::max_element(levels.begin(), levels.end());
    std::vector<double> intervals;
    std::vector<BeatTraits> traits;
    for (std::size_t i = 0; i < beats.size(); ++i) {
      beats[i].strength = std::pow(10.0, (levels[i] - loudest) / 20.0);
      traits.push_back({beats[i].time_s, levels[i]});
      if (i > 0) intervals.push_back(beats[i].time_s - beats[i - 1].time_s);
    }
    if (hints_.driver_diameter_mm) set_speeds(beats, hints_);
    if (hints_.beats_per_rev) {
      const std::vector<int> places = revolution_places(traits, *hints_.beats_per_rev, pattern_);
      for (std::size_t i = 0; i < places.size(); ++i)
        beats[i].position = places[i];
    }
    const auto middle = intervals.begin() + static_cast<std::ptrdiff_t>(intervals.size() / 2);
    std::nth_element(intervals.begin(), middle, intervals.end());
    BeatStretch stretch;
    stretch.range = {beats.front().frame, beats.back().frame + FrameCount(1)};
    stretch.median_interval_s = *middle;
    track_.stretches.push_back(stretch);
  }

  audio::MonoView samples_;
  double sample_rate_hz_;
  const BeatHints& hints_;
  const OnsetStrength& onsets_;
  RevolutionPattern pattern_;
  BeatTrack track_;
};

}  // namespace

Result<BeatTrack> track_beats(audio::MonoView samples, double sample_rate_hz,
                              const BeatHints& hints, JobControl& job) {
  if (const std::optional<Error> error = refusal(hints)) return *error;
  const Result<OnsetStrength> onsets = onset_strength(samples, sample_rate_hz, job);
  if (!onsets) return onsets.error();
  std::vector<Candidate> candidates = candidates_of(*onsets);
  const Result<std::vector<PathBeat>> path = learnt_path(candidates, limits_of(hints), job);
  if (!path) return path.error();
  TrackMaker maker(samples, sample_rate_hz, hints, *onsets);
  for (const ProvedStretch& stretch : prove_stretches(candidates, *path)) {
    if (const Status status = maker.add(stretch, candidates, *path, job); !status)
      return status.error();
  }
  job.progress(1.0, "beats");
  return maker.take();
}

}  // namespace fourbeat::dsp
