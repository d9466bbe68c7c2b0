// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_make.h"

#include "band_powers.h"
#include "beat_pattern.h"
#include "beat_time.h"
#include "plain_log.h"

#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <span>
#include <utility>
#include <vector>

namespace fourbeat::dsp {

namespace {

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

/// How bright a beat is: Beat::tilt_db.
class TiltMeter {
 public:
  TiltMeter(audio::MonoView samples, double sample_rate_hz)
      : samples_(samples),
        frames_(static_cast<std::size_t>(span_s * sample_rate_hz)),
        powers_(
            frames_, sample_rate_hz,
            std::vector<Band>{{250.0, 1000.0}, {1000.0, std::min(8000.0, 0.45 * sample_rate_hz)}}) {
  }

  /// Nothing where the take ends within the 40 ms, or a band is silent.
  std::optional<double> measure(FrameIndex attack) {
    const auto from = static_cast<std::size_t>(attack.value());
    if (from + frames_ > samples_.size()) return std::nullopt;
    std::array<float, 2> powers{};
    powers_.measure(samples_.subspan(from, frames_), powers);
    constexpr float least = 1e-20F;
    if (powers[0] < least || powers[1] < least) return std::nullopt;
    return plain_db(static_cast<double>(powers[1])) - plain_db(static_cast<double>(powers[0]));
  }

 private:
  static constexpr double span_s = 0.04;
  audio::MonoView samples_;
  std::size_t frames_;
  BandPowers powers_;
};

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
double confidence_of(double evidence, const Candidate& candidate, double rate_hz) {
  const double beating = 1.0 / (1.0 + std::exp(-4.0 * evidence));
  const double clear =
      std::min(1.0, candidate.strength / candidate.reference / strength_share(rate_hz) / 0.5);
  return beating * (0.5 + 0.5 * clear);
}

class TrackMaker {
 public:
  TrackMaker(audio::MonoView samples, double sample_rate_hz, const BeatHints& hints,
             const OnsetStrength& onsets)
      : samples_(samples),
        sample_rate_hz_(sample_rate_hz),
        hints_(hints),
        onsets_(onsets),
        tilt_(samples, sample_rate_hz) {}

  Status add(const ProvedStretch& stretch, std::span<const Candidate> candidates,
             std::span<const PathBeat> path, JobControl& job) {
    const std::span<const PathBeat> part = path.subspan(stretch.first, stretch.count);
    const std::size_t first_beat = track_.beats.size();
    for (std::size_t i = 0; i < part.size(); ++i) {
      if (i % 64 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
      const Candidate& candidate = candidates[part[i].candidate];
      const double confidence = confidence_of(stretch.evidence[i], candidate, part[i].rate_hz);
      if (i > 0 && part[i].after_unheard) {
        constexpr double unheard_confidence = 0.1;
        const double before_s = candidates[part[i - 1].candidate].time_s;
        add_beat(0.5 * (before_s + candidate.time_s), part[i].rate_hz,
                 unheard_confidence * confidence, first_beat);
      }
      add_beat(candidate.time_s, part[i].rate_hz, confidence, first_beat);
    }
    finish(first_beat, false);
    return ok();
  }

  void add(const FusedStretch& stretch) {
    const std::size_t first_beat = track_.beats.size();
    for (const FusedBeat& beat : stretch.beats) {
      // Half at most: the line is sure, the single beat is not.
      constexpr double half_sure_line = 20.0;
      push(beat.time_s, 0.5 * beat.line / (beat.line + half_sure_line), first_beat);
    }
    finish(first_beat, true);
  }

  BeatTrack take() { return std::move(track_); }

 private:
  /// A beat at the attack near near_s, if it comes after the one before.
  void add_beat(double near_s, double rate_hz, double confidence, std::size_t first_beat) {
    push(attack_time_s(samples_, sample_rate_hz_, near_s, 1.0 / rate_hz).value_or(near_s),
         confidence, first_beat);
  }

  void push(double time_s, double confidence, std::size_t first_beat) {
    const auto frame = std::clamp<std::int64_t>(std::llround(time_s * sample_rate_hz_), 0,
                                                static_cast<std::int64_t>(samples_.size()) - 1);
    if (track_.beats.size() > first_beat && frame <= track_.beats.back().frame.value()) return;
    Beat beat;
    beat.frame = FrameIndex(frame);
    beat.time_s = static_cast<double>(frame) / sample_rate_hz_;
    beat.confidence = confidence;
    beat.tilt_db = tilt_.measure(beat.frame);
    track_.beats.push_back(beat);
  }

  /// What a stretch's beats have in common; one beat alone is none.
  void finish(std::size_t first_beat, bool fused) {
    const std::span<Beat> beats = std::span(track_.beats).subspan(first_beat);
    if (beats.size() < 2) {
      track_.beats.resize(first_beat);
      return;
    }
    std::vector<double> levels;
    for (const Beat& beat : beats)
      levels.push_back(level_after(onsets_, beat.time_s));
    const double loudest = *std::max_element(levels.begin(), levels.end());
    std::vector<double> intervals;
    std::vector<BeatTraits> traits;
    const double usual_tilt_db = mean_tilt_db(beats);
    for (std::size_t i = 0; i < beats.size(); ++i) {
      beats[i].strength = std::pow(10.0, (levels[i] - loudest) / 20.0);
      traits.push_back({beats[i].time_s, levels[i], beats[i].tilt_db.value_or(usual_tilt_db)});
      if (i > 0) intervals.push_back(beats[i].time_s - beats[i - 1].time_s);
    }
    if (hints_.driver_diameter_mm) set_speeds(beats, hints_);
    if (hints_.beats_per_rev && !fused) {
      const std::vector<int> places = revolution_places(traits, *hints_.beats_per_rev, pattern_);
      for (std::size_t i = 0; i < places.size(); ++i)
        beats[i].position = places[i];
    }
    const auto middle = intervals.begin() + static_cast<std::ptrdiff_t>(intervals.size() / 2);
    std::nth_element(intervals.begin(), middle, intervals.end());
    BeatStretch stretch;
    stretch.range = {beats.front().frame, beats.back().frame + FrameCount(1)};
    stretch.median_interval_s = *middle;
    stretch.fused = fused;
    track_.stretches.push_back(stretch);
  }

  audio::MonoView samples_;
  double sample_rate_hz_;
  const BeatHints& hints_;
  const OnsetStrength& onsets_;
  TiltMeter tilt_;
  RevolutionPattern pattern_;
  BeatTrack track_;
};

}  // namespace

Result<BeatTrack> make_track(const BeatSearch& search, audio::MonoView samples,
                             double sample_rate_hz, const BeatHints& hints, JobControl& job) {
  TrackMaker maker(samples, sample_rate_hz, hints, search.onsets);
  std::size_t next_fused = 0;
  const auto add_fused_before = [&](double time_s) {
    for (;
         next_fused < search.fused.size() && search.fused[next_fused].beats.front().time_s < time_s;
         ++next_fused)
      maker.add(search.fused[next_fused]);
  };
  for (const ProvedStretch& stretch : search.proved) {
    add_fused_before(search.candidates[search.path[stretch.first].candidate].time_s);
    if (const Status status = maker.add(stretch, search.candidates, search.path, job); !status)
      return status.error();
  }
  add_fused_before(std::numeric_limits<double>::infinity());
  job.progress(1.0, "beats");
  BeatTrack track = maker.take();
  track.evidence = search.evidence;
  return track;
}

}  // namespace fourbeat::dsp
