// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_make.h"

#include "band_powers.h"
#include "beat_candidates.h"
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

/// How bright a beat is: Beat::tilt_db.
class TiltMeter {
 public:
  TiltMeter(SampleSource& samples, double sample_rate_hz)
      : samples_(samples),
        frames_(static_cast<std::int64_t>(span_s * sample_rate_hz)),
        powers_(
            static_cast<std::size_t>(frames_.value()), sample_rate_hz,
            std::vector<Band>{{250.0, 1000.0}, {1000.0, std::min(8000.0, 0.45 * sample_rate_hz)}}) {
  }

  /// Nothing where the take ends within the 40 ms, or a band is silent.
  Result<std::optional<double>> measure(FrameIndex attack) {
    std::optional<double> tilt_db;
    const FrameRange range{attack, attack + frames_};
    if (range.end > FrameIndex(0) + samples_.frames()) return tilt_db;
    const Result<audio::MonoView> block = samples_.read(range);
    if (!block) return block.error();
    std::array<float, 2> powers{};
    powers_.measure(*block, powers);
    constexpr float least = 1e-20F;
    if (powers[0] < least || powers[1] < least) return tilt_db;
    tilt_db = plain_db(static_cast<double>(powers[1])) - plain_db(static_cast<double>(powers[0]));
    return tilt_db;
  }

 private:
  static constexpr double span_s = 0.04;
  SampleSource& samples_;
  FrameCount frames_;
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
  TrackMaker(SampleSource& samples, double sample_rate_hz, const BeatHints& hints,
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
        const Status added = add_beat(0.5 * (before_s + candidate.time_s), part[i].rate_hz,
                                      unheard_confidence * confidence, first_beat);
        if (!added) return added.error();
      }
      const Status added = add_beat(candidate.time_s, part[i].rate_hz, confidence, first_beat);
      if (!added) return added.error();
    }
    finish(first_beat, false);
    return ok();
  }

  Status add(const FusedStretch& stretch) {
    const std::size_t first_beat = track_.beats.size();
    for (const FusedBeat& beat : stretch.beats) {
      // Half at most: the line is sure, the single beat is not.
      constexpr double half_sure_line = 20.0;
      const Status pushed =
          push(beat.time_s, 0.5 * beat.line / (beat.line + half_sure_line), first_beat);
      if (!pushed) return pushed.error();
    }
    finish(first_beat, true);
    return ok();
  }

  BeatTrack take() { return std::move(track_); }

 private:
  /// A beat at the attack near near_s, if it comes after the one before.
  Status add_beat(double near_s, double rate_hz, double confidence, std::size_t first_beat) {
    const Result<std::optional<double>> attack =
        attack_time_s(samples_, sample_rate_hz_, near_s, 1.0 / rate_hz);
    if (!attack) return attack.error();
    return push(attack->value_or(near_s), confidence, first_beat);
  }

  Status push(double time_s, double confidence, std::size_t first_beat) {
    const auto frame = std::clamp<std::int64_t>(std::llround(time_s * sample_rate_hz_), 0,
                                                samples_.frames().value() - 1);
    if (track_.beats.size() > first_beat && frame <= track_.beats.back().frame.value()) return ok();
    Beat beat;
    beat.frame = FrameIndex(frame);
    beat.time_s = static_cast<double>(frame) / sample_rate_hz_;
    beat.confidence = confidence;
    const Result<std::optional<double>> tilt_db = tilt_.measure(beat.frame);
    if (!tilt_db) return tilt_db.error();
    beat.tilt_db = *tilt_db;
    track_.beats.push_back(beat);
    return ok();
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

  SampleSource& samples_;
  double sample_rate_hz_;
  const BeatHints& hints_;
  const OnsetStrength& onsets_;
  TiltMeter tilt_;
  RevolutionPattern pattern_;
  BeatTrack track_;
};

}  // namespace

Result<BeatTrack> make_track(const BeatSearch& search, SampleSource& samples, double sample_rate_hz,
                             const BeatHints& hints, JobControl& job) {
  TrackMaker maker(samples, sample_rate_hz, hints, search.onsets);
  std::size_t next_fused = 0;
  const auto add_fused_before = [&](double time_s) -> Status {
    for (;
         next_fused < search.fused.size() && search.fused[next_fused].beats.front().time_s < time_s;
         ++next_fused)
      if (const Status added = maker.add(search.fused[next_fused]); !added) return added.error();
    return ok();
  };
  for (const ProvedStretch& stretch : search.proved) {
    const double first_s = search.candidates[search.path[stretch.first].candidate].time_s;
    if (const Status status = add_fused_before(first_s); !status) return status.error();
    if (const Status status = maker.add(stretch, search.candidates, search.path, job); !status)
      return status.error();
  }
  if (const Status status = add_fused_before(std::numeric_limits<double>::infinity()); !status)
    return status.error();
  job.progress(1.0, "beats");
  BeatTrack track = maker.take();
  track.evidence = search.evidence;
  return track;
}

}  // namespace fourbeat::dsp
