// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/beat_corrections.h"

#include "beat_regroup.h"
#include "beat_time.h"
#include "wheel_turns.h"

#include <algorithm>
#include <cmath>
#include <string>
#include <utility>

namespace fourbeat::dsp {

namespace {

/// Share of the interval within which a place names a beat; for a lone beat the interval is 1 s.
constexpr double named_within = 0.4;
constexpr double lone_interval_s = 1.0;
/// A beat this near to one that is added is that one.
constexpr double same_within_s = 0.030;
constexpr double same_within = 0.25;
/// Sound on either side of pinned beats that is listened to as well.
constexpr double listen_around_s = 1.5;
/// A tracked beat nearer than this to a pin is the pin.
constexpr double pin_within = 0.35;

Error refusal(std::string place, std::string detail, std::string mend) {
  return Error{ErrorCode::bad_argument, "", std::move(place), std::move(detail), std::move(mend)};
}

/// Seconds between the beats about beat i; those across a long break count for nothing.
double interval_about(std::span<const double> times, std::size_t i) {
  constexpr double longest_s = 3.3;
  double widest = 0.0;
  for (const std::size_t k : {i, i + 1}) {
    if (k == 0 || k >= times.size()) continue;
    const double gap = times[k] - times[k - 1];
    if (gap <= longest_s) widest = std::max(widest, gap);
  }
  return widest > 0.0 ? widest : lone_interval_s;
}

/// Index of the time nearest to `time_s`; none: no times.
std::optional<std::size_t> nearest(std::span<const double> times, double time_s) {
  if (times.empty()) return std::nullopt;
  const auto after = static_cast<std::size_t>(std::lower_bound(times.begin(), times.end(), time_s) -
                                              times.begin());
  if (after == 0) return 0;
  if (after == times.size()) return after - 1;
  return times[after] - time_s < time_s - times[after - 1] ? after : after - 1;
}

std::optional<std::size_t> named(std::span<const double> times, double time_s) {
  const std::optional<std::size_t> at = nearest(times, time_s);
  if (!at || std::fabs(times[*at] - time_s) > named_within * interval_about(times, *at))
    return std::nullopt;
  return at;
}

class Corrector {
 public:
  Corrector(const BeatTrack& track, SampleSource& samples, double sample_rate_hz, FrameIndex first,
            const BeatHints& hints, JobControl& job)
      : before_(track),
        samples_(samples),
        rate_(sample_rate_hz),
        first_(first),
        hints_(hints),
        job_(job),
        touched_(track.stretches.size(), false) {
    for (const Beat& beat : track.beats)
      beats_.push_back({beat, std::nullopt, false});
    for (std::size_t s = 0; s < track.stretches.size(); ++s) {
      const BeatSpan span = beats_in(track, track.stretches[s].range);
      for (std::size_t i = span.first; i < span.first + span.count; ++i)
        beats_[i].stretch = s;
    }
  }

  /// False: it found nothing to correct.
  Result<bool> operator()(const AddBeat& add) {
    if (const Status inside = check(add.at); !inside) return inside.error();
    if (const Status set = put(add.at); !set) return set.error();
    return true;
  }
  Result<bool> operator()(const RemoveBeat& remove) {
    if (const Status inside = check(remove.at); !inside) return inside.error();
    const std::optional<std::size_t> at = named(times(), time_of(remove.at));
    if (at) take_away(*at);
    return at.has_value();
  }
  Result<bool> operator()(const MoveBeat& move) {
    if (const Status inside = check(move.from); !inside) return inside.error();
    if (const Status inside = check(move.to); !inside) return inside.error();
    const std::optional<std::size_t> at = named(times(), time_of(move.from));
    if (at) take_away(*at);
    if (const Status set = put(move.to); !set) return set.error();
    return true;
  }
  Result<bool> operator()(const HalveBeats& halve) {
    const Result<std::vector<std::size_t>> inside = beats_inside(halve.range);
    if (!inside) return inside.error();
    const auto count = static_cast<int>(inside->size());
    if (count < 2) return false;
    if (halve.beats && count <= *halve.beats + 1) return true;
    for (std::size_t k = inside->size(); k-- > 0;)
      if (k % 2 == 1) take_away((*inside)[k]);
    return true;
  }
  Result<bool> operator()(const DoubleBeats& twice) {
    const Result<std::vector<std::size_t>> inside = beats_inside(twice.range);
    if (!inside) return inside.error();
    const auto count = static_cast<int>(inside->size());
    if (count < 2) return false;
    if (twice.beats && count >= *twice.beats - 1) return true;
    const std::vector<double> all = times();
    std::vector<FrameIndex> places;
    for (std::size_t k = 1; k < inside->size(); ++k) {
      const double from_s = all[(*inside)[k - 1]];
      const double to_s = all[(*inside)[k]];
      const Result<FrameIndex> place = attack_near(0.5 * (from_s + to_s), 0.5 * (to_s - from_s));
      if (!place) return place.error();
      places.push_back(*place);
    }
    if (const Status set = insert(places); !set) return set.error();
    return true;
  }
  Result<bool> operator()(const SetRevolution& revolution) {
    if (!hints_.beats_per_rev)
      return refusal("beats per revolution", "is not known", "give the engine's beats");
    if (const Status inside = check(revolution.range.start); !inside) return inside.error();
    revolutions_.push_back(revolution);
    return true;
  }
  Result<bool> operator()(const RetrackBetween& pinned) {
    const Result<std::vector<std::size_t>> inside = beats_inside(pinned.range);
    if (!inside) return inside.error();
    if (const Status end = check(pinned.range.end); !end) return end.error();
    for (const FrameIndex pin : {pinned.range.start, pinned.range.end})
      if (const Status set = put(pin); !set) return set.error();
    const Result<std::vector<FrameIndex>> between = tracked_between(pinned);
    if (!between) return between.error();
    for (std::size_t i = beats_.size(); i-- > 0;) {
      const FrameIndex frame = beats_[i].beat.frame;
      if (frame > pinned.range.start && frame < pinned.range.end) take_away(i);
    }
    if (const Status set = insert(*between); !set) return set.error();
    return true;
  }

  /// Indices of revolutions that named no beat are counted from the first revolution on.
  CorrectedBeats finish(std::vector<std::size_t> revolution_of) {
    CorrectedBeats out;
    out.track = regrouped(before_, beats_, touched_, hints_.beats_per_rev);
    std::vector<double> all;
    for (const Beat& beat : out.track.beats)
      all.push_back(beat.time_s);
    std::vector<std::size_t> zeros;
    for (std::size_t r = 0; r < revolutions_.size(); ++r) {
      const FrameRange& range = revolutions_[r].range;
      const std::optional<std::size_t> start = named(all, time_of(range.start));
      if (start) zeros.push_back(*start);
      std::optional<std::size_t> end;
      if (range.end > range.start) end = named(all, time_of(range.end));
      if (end) zeros.push_back(*end);
      if (!start && !end) out.idle.push_back(revolution_of[r]);
    }
    if (hints_.beats_per_rev) set_revolutions(out.track, zeros, *hints_.beats_per_rev);
    return out;
  }

 private:
  [[nodiscard]] double time_of(FrameIndex frame) const {
    return static_cast<double>(frame.value()) / rate_;
  }
  [[nodiscard]] FrameIndex last() const { return first_ + samples_.frames() - FrameCount(1); }
  [[nodiscard]] Status check(FrameIndex frame) const {
    if (frame >= first_ && frame <= last()) return ok();
    return refusal("frame " + std::to_string(frame.value()), "is outside the recording", "");
  }
  [[nodiscard]] std::vector<double> times() const {
    std::vector<double> all;
    all.reserve(beats_.size());
    for (const HandledBeat& handled : beats_)
      all.push_back(handled.beat.time_s);
    return all;
  }
  [[nodiscard]] Result<std::vector<std::size_t>> beats_inside(const FrameRange& range) const {
    if (range.empty()) {
      return refusal("frame " + std::to_string(range.start.value()), "the stretch is empty",
                     "let it start before it ends");
    }
    if (const Status inside = check(range.start); !inside) return inside.error();
    if (const Status inside = check(range.end - FrameCount(1)); !inside) return inside.error();
    std::vector<std::size_t> inside;
    for (std::size_t i = 0; i < beats_.size(); ++i) {
      if (beats_[i].beat.frame >= range.start && beats_[i].beat.frame < range.end)
        inside.push_back(i);
    }
    return inside;
  }

  void take_away(std::size_t i) {
    if (beats_[i].stretch) touched_[*beats_[i].stretch] = true;
    beats_.erase(beats_.begin() + static_cast<std::ptrdiff_t>(i));
  }

  /// A beat at a place, in the stead of one that is there already.
  Status put(FrameIndex frame) {
    const std::vector<double> all = times();
    const std::optional<std::size_t> at = nearest(all, time_of(frame));
    if (at) {
      const double off = std::fabs(all[*at] - time_of(frame));
      if (off <= std::min(same_within_s, same_within * interval_about(all, *at))) take_away(*at);
    }
    return insert({&frame, 1});
  }

  Status insert(std::span<const FrameIndex> frames) {
    for (const FrameIndex frame : frames)
      if (const Status set = insert_one(frame); !set) return set.error();
    return ok();
  }

  Status insert_one(FrameIndex frame) {
    const auto place = std::lower_bound(
        beats_.begin(), beats_.end(), frame,
        [](const HandledBeat& handled, FrameIndex at) { return handled.beat.frame < at; });
    if (place != beats_.end() && place->beat.frame == frame) return ok();
    HandledBeat handled;
    handled.beat.frame = frame;
    handled.beat.time_s = time_of(frame);
    handled.beat.confidence = 1.0;
    const Result<double> strength = strength_at(handled.beat.time_s);
    if (!strength) return strength.error();
    handled.beat.strength = *strength;
    beats_.insert(place, handled);
    return ok();
  }

  /// RMS of the 40 ms from a place on.
  [[nodiscard]] Result<double> level_after(double time_s) const {
    constexpr double span_s = 0.04;
    const std::int64_t size = samples_.frames().value();
    const std::int64_t from = std::clamp<std::int64_t>(
        std::llround(time_s * rate_) - first_.value(), 0, std::max<std::int64_t>(0, size - 1));
    const std::int64_t to = std::min<std::int64_t>(size, from + std::llround(span_s * rate_));
    if (to <= from) return 0.0;
    const Result<audio::MonoView> block = samples_.read(frame_range(from, to));
    if (!block) return block.error();
    double power = 0.0;
    for (const float sample : *block) {
      const double x = static_cast<double>(sample);
      power += x * x;
    }
    return std::sqrt(power / static_cast<double>(to - from));
  }

  /// As loud against the nearest tracked beat as the sound there is.
  [[nodiscard]] Result<double> strength_at(double time_s) const {
    const HandledBeat* near = nullptr;
    for (const HandledBeat& handled : beats_) {
      if (!handled.stretch) continue;
      if (near == nullptr ||
          std::fabs(handled.beat.time_s - time_s) < std::fabs(near->beat.time_s - time_s))
        near = &handled;
    }
    if (near == nullptr) return 1.0;
    const Result<double> known = level_after(near->beat.time_s);
    if (!known) return known.error();
    if (!(*known > 0.0)) return near->beat.strength;
    const Result<double> here = level_after(time_s);
    if (!here) return here.error();
    return std::clamp(near->beat.strength * *here / *known, 0.0, 1.0);
  }

  [[nodiscard]] Result<FrameIndex> attack_near(double time_s, double interval_s) const {
    const double offset_s = time_of(first_);
    const Result<std::optional<double>> attack =
        attack_time_s(samples_, rate_, time_s - offset_s, interval_s);
    if (!attack) return attack.error();
    return FrameIndex(std::llround((*attack ? **attack + offset_s : time_s) * rate_));
  }

  /// Beats between two pins that stand already.
  Result<std::vector<FrameIndex>> tracked_between(const RetrackBetween& pinned) {
    const double from_s = time_of(pinned.range.start);
    const double to_s = time_of(pinned.range.end);
    if (pinned.intervals) return spread(from_s, to_s, *pinned.intervals);
    const FrameCount around(std::llround(listen_around_s * rate_));
    const std::int64_t low =
        std::max<std::int64_t>(0, (pinned.range.start - around - first_).value());
    const std::int64_t high = std::min<std::int64_t>(samples_.frames().value(),
                                                     (pinned.range.end + around - first_).value());
    PartSource part(samples_, frame_range(low, high));
    const Result<BeatTrack> track = track_beats(part, rate_, hints_, job_);
    if (!track) return track.error();
    std::vector<FrameIndex> found;
    for (const BeatStretch& stretch : track->stretches) {
      const BeatSpan span = beats_in(*track, stretch.range);
      const double near_s = pin_within * stretch.median_interval_s;
      for (std::size_t i = span.first; i < span.first + span.count; ++i) {
        const FrameIndex frame = track->beats[i].frame + FrameCount(low) + (first_ - FrameIndex(0));
        const double time_s = time_of(frame);
        if (time_s > from_s + near_s && time_s < to_s - near_s) found.push_back(frame);
      }
    }
    if (!found.empty()) return found;
    // Too short, or nothing is heard to beat: as the intervals around have it.
    const double interval = 0.5 * (interval_beside(from_s, to_s, true).value_or(to_s - from_s) +
                                   interval_beside(from_s, to_s, false).value_or(to_s - from_s));
    return spread(from_s, to_s,
                  std::max(1, static_cast<int>(std::llround((to_s - from_s) / interval))));
  }

  /// The interval just before the first pin, or just after the second.
  [[nodiscard]] std::optional<double> interval_beside(double from_s, double to_s,
                                                      bool before) const {
    const std::vector<double> all = times();
    const std::optional<std::size_t> pin = nearest(all, before ? from_s : to_s);
    if (!pin || (before ? *pin == 0 : *pin + 1 >= all.size())) return std::nullopt;
    const double gap = before ? all[*pin] - all[*pin - 1] : all[*pin + 1] - all[*pin];
    return gap < 3.3 ? std::optional(gap) : std::nullopt;
  }

  /// Places of `intervals` - 1 beats between two times, going smoothly (cubic Hermite) from the
  /// interval before to the one after, each at its attack where there is one.
  [[nodiscard]] Result<std::vector<FrameIndex>> spread(double from_s, double to_s,
                                                       int intervals) const {
    const double even = (to_s - from_s) / intervals;
    const auto usable = [&](std::optional<double> gap) {
      return gap && *gap > 0.5 * even && *gap < 2.0 * even ? *gap : even;
    };
    const double first = usable(interval_beside(from_s, to_s, true)) * intervals;
    const double second = usable(interval_beside(from_s, to_s, false)) * intervals;
    std::vector<FrameIndex> places;
    for (int k = 1; k < intervals; ++k) {
      const double u = static_cast<double>(k) / intervals;
      const double at = (1.0 + 2.0 * u) * (1.0 - u) * (1.0 - u) * from_s +
                        u * (1.0 - u) * (1.0 - u) * first + u * u * (3.0 - 2.0 * u) * to_s +
                        u * u * (u - 1.0) * second;
      const Result<FrameIndex> place = attack_near(at, even);
      if (!place) return place.error();
      places.push_back(*place);
    }
    return places;
  }

  const BeatTrack& before_;
  SampleSource& samples_;
  double rate_;
  FrameIndex first_;
  const BeatHints& hints_;
  JobControl& job_;
  std::vector<bool> touched_;
  std::vector<HandledBeat> beats_;
  std::vector<SetRevolution> revolutions_;
};

}  // namespace

Result<CorrectedBeats> correct_beats(const BeatTrack& track,
                                     std::span<const BeatCorrection> corrections,
                                     SampleSource& samples, double sample_rate_hz, FrameIndex first,
                                     const BeatHints& hints, JobControl& job) {
  if (corrections.empty()) return CorrectedBeats{track, {}};
  Corrector corrector(track, samples, sample_rate_hz, first, hints, job);
  std::vector<std::size_t> idle;
  std::vector<std::size_t> revolutions;
  for (std::size_t i = 0; i < corrections.size(); ++i) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    const Result<bool> done = std::visit(corrector, corrections[i]);
    if (!done) return done.error();
    if (!*done) idle.push_back(i);
    if (std::holds_alternative<SetRevolution>(corrections[i])) revolutions.push_back(i);
  }
  CorrectedBeats out = corrector.finish(revolutions);
  out.idle.insert(out.idle.end(), idle.begin(), idle.end());
  std::sort(out.idle.begin(), out.idle.end());
  return out;
}

std::optional<std::size_t> beat_near(const BeatTrack& track, FrameIndex near,
                                     double sample_rate_hz) {
  std::vector<double> times;
  times.reserve(track.beats.size());
  for (const Beat& beat : track.beats)
    times.push_back(beat.time_s);
  return named(times, static_cast<double>(near.value()) / sample_rate_hz);
}

}  // namespace fourbeat::dsp
