// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/loop_finder.h"

#include "loop_joins.h"
#include "loop_match.h"
#include "plain_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <span>

namespace fourbeat::dsp {

namespace {

constexpr double least_rate_hz = 2000.0;
constexpr double most_rate_hz = 768000.0;
constexpr double least_loop_s = 0.02;
constexpr int most_candidates = 50;
constexpr double silent_rms = 1e-5;  // -100 dBFS
constexpr double match_reach_s = 0.02;
constexpr double match_half_s = 0.03;
constexpr double fine_shift_s = 0.002;
constexpr double shift_stride_s = 0.00025;
/// Crossfades tried in turn, until one is clean: brief ones first where both sides are alike, since
/// they then hide nothing; longer ones first where the sides share little.
constexpr double alike_correlation = 0.7;
constexpr std::array<double, 3> fades_alike_s = {0.02, 0.08, 0.3};
constexpr std::array<double, 3> fades_unlike_s = {0.08, 0.3, 0.02};
constexpr double least_inside_s = 0.38;
constexpr double worst_tell_db = 30.0;
constexpr double longest_tone_period_s = 0.05;
constexpr double plain_fall_db = 3.0;
constexpr double short_material_s = 6.0;

Error bad(std::string place, std::string detail, std::string mend) {
  return {ErrorCode::bad_argument, "", std::move(place), std::move(detail), std::move(mend)};
}

Status check(const audio::Pcm& material, const LoopParams& params) {
  const double rate_hz = material.sample_rate_hz;
  if (!(rate_hz >= least_rate_hz && rate_hz <= most_rate_hz)) {
    return bad("sample_rate_hz", fmt::format("{:.6g} Hz; 2000 to 768000 can be searched", rate_hz),
               "");
  }
  if (!(params.min_s > least_loop_s) || !std::isfinite(params.min_s))
    return bad("min_s", fmt::format("{:.6g} s", params.min_s), "give more than 0.02 s");
  if (!(params.max_s >= params.min_s) || !std::isfinite(params.max_s)) {
    return bad("max_s",
               fmt::format("{:.6g} s, the shortest is {:.6g} s", params.max_s, params.min_s),
               "give at least the shortest length");
  }
  if (params.count < 1 || params.count > most_candidates)
    return bad("count", fmt::format("{}", params.count), "give 1 to 50");
  for (const std::vector<float>& channel : material.channels) {
    if (channel.size() != material.channels.front().size())
      return bad("channels", "the channels are not equally long", "");
    const auto broken =
        std::find_if(channel.begin(), channel.end(), [](float x) { return !std::isfinite(x); });
    if (broken != channel.end()) {
      return Error{ErrorCode::not_finite, "", fmt::format("frame {}", broken - channel.begin()), "",
                   ""};
    }
  }
  return ok();
}

std::vector<std::vector<float>> without_mean(const audio::Pcm& material) {
  std::vector<std::vector<float>> out = material.channels;
  for (std::vector<float>& channel : out) {
    double sum = 0.0;
    for (const float x : channel)
      sum += x;
    const auto mean = static_cast<float>(sum / static_cast<double>(channel.size()));
    for (float& x : channel)
      x -= mean;
  }
  return out;
}

bool silent(const std::vector<std::vector<float>>& channels) {
  return std::all_of(channels.begin(), channels.end(), [](const std::vector<float>& channel) {
    double power = 0.0;
    for (const float x : channel)
      power += static_cast<double>(x) * x;
    return power <= silent_rms * silent_rms * static_cast<double>(channel.size());
  });
}

/// What a loop may be.
struct Bounds {
  std::int64_t frames = 0;
  std::int64_t least = 0;
  std::int64_t most = 0;
  double rate_hz = 0.0;
};

/// The end near join.end_frame that matches the start best; the start leaves room for the shortest
/// loop.
MatchedEnd matched_end(const std::vector<std::vector<float>>& channels, const Join& join,
                       const Bounds& bounds) {
  const std::int64_t reach = std::llround(match_reach_s * bounds.rate_hz);
  MatchSpan span;
  span.start_frame = join.start_frame;
  span.first_end_frame = std::max(join.start_frame + bounds.least, join.end_frame - reach);
  span.last_end_frame =
      std::max(span.first_end_frame,
               std::min({bounds.frames, join.start_frame + bounds.most, join.end_frame + reach}));
  span.reach_frames = std::llround(match_half_s * bounds.rate_hz);
  return match_end(channels, span, join.end_frame);
}

/// Level of a stretch in dB, over all channels.
double level_db(const std::vector<std::vector<float>>& channels, std::int64_t from,
                std::int64_t to) {
  double power = 0.0;
  for (const std::vector<float>& channel : channels) {
    for (std::int64_t i = from; i < to; ++i) {
      const double x = channel[static_cast<std::size_t>(i)];
      power += x * x;
    }
  }
  return plain_db(std::max(power / static_cast<double>(to - from), silent_rms * silent_rms));
}

/// Level of a loop's first quarter over that of its last, in dB; 0 for a rhythm, which is judged
/// by its periods instead.
double fall_db(const std::vector<std::vector<float>>& channels, const LoopCandidate& candidate) {
  if (candidate.period_s && *candidate.period_s > longest_tone_period_s) return 0.0;
  const std::int64_t start = candidate.loop.range.start.value();
  const std::int64_t end = candidate.loop.range.end.value();
  const std::int64_t quarter = (end - start) / 4;
  return level_db(channels, start, start + quarter) - level_db(channels, end - quarter, end);
}

/// How much of its score a loop keeps for a fall or rise of level: a sound that dies away swells at
/// every turn, however smooth the seam. All up to 1 dB, half from 10 dB.
double steadiness(double fall_db) {
  return 1.0 - 0.5 * std::clamp((std::abs(fall_db) - 1.0) / 9.0, 0.0, 1.0);
}

/// Why the best of the loops found is not clean.
std::string why_not_clean(const LoopCandidate& best, double fall_db, double rate_hz) {
  const double length_s = static_cast<double>(best.loop.range.length().value()) / rate_hz;
  if (std::abs(fall_db) >= plain_fall_db) {
    return fmt::format(
        "no loop is clean: over the best one the sound {} by {:.1f} dB; take a steadier stretch or "
        "a shorter loop",
        fall_db > 0.0 ? "falls" : "rises", std::abs(fall_db));
  }
  if (!best.seam.whole_periods && best.period_s) {
    return fmt::format(
        "no loop is clean: none of the lengths tried spans whole periods of {:.5f} s; allow other "
        "lengths",
        *best.period_s);
  }
  const auto worst = std::max_element(
      best.seam.measures.begin(), best.seam.measures.end(),
      [](const SeamMeasure& a, const SeamMeasure& b) { return a.quotient < b.quotient; });
  if (worst == best.seam.measures.end() || best.seam.state == SeamState::doubtful) {
    return fmt::format(
        "no loop is clean: the best one, of {:.2f} s, leaves {} of {} measures too little room to "
        "vouch for it; allow longer loops, or give longer material",
        length_s, best.seam.omitted.size(), best.seam.omitted.size() + best.seam.measures.size());
  }
  return fmt::format(
      "no loop is clean: at the best seam {} is {:.1f} times what it is in 95 of 100 places of the "
      "loop",
      worst->name, worst->quotient);
}

/// 0 to 1: the state first, then what the designer would choose by. An unclean seam's score falls
/// with its worst quotient.
double score_of(const SeamReport& seam, const LoopSpec& loop, const Bounds& bounds) {
  const auto frames = static_cast<double>(loop.range.length().value());
  const auto all = static_cast<double>(seam.measures.size() + seam.omitted.size());
  const double vouched = all > 0.0 ? static_cast<double>(seam.measures.size()) / all : 0.0;
  const auto span = static_cast<double>(bounds.most - bounds.least);
  const double length =
      span > 0.0 ? std::clamp((frames - static_cast<double>(bounds.least)) / span, 0.0, 1.0) : 1.0;
  const double calm = 1.0 - std::clamp(seam.tell_db / worst_tell_db, 0.0, 1.0);
  const double even = 1.0 - seam.rank / 100.0;
  const double brief =
      1.0 - std::clamp(4.0 * static_cast<double>(loop.crossfade_frames.value()) / frames, 0.0, 1.0);
  const double choice = 0.25 * (vouched + length) + 0.2 * calm + 0.15 * (even + brief);
  switch (seam.state) {
    case SeamState::clean:
      return 0.6 + 0.4 * choice;
    case SeamState::doubtful:
      return (seam.whole_periods ? 0.35 : 0.25) + 0.2 * choice;
    case SeamState::unclean:
      break;
  }
  double worst = 1.0;
  for (const SeamMeasure& measure : seam.measures)
    worst = std::max(worst, measure.quotient);
  return 0.2 * choice / worst;
}

/// Renders a loop of the material, without the rest of it, and measures its seam.
Result<SeamReport> measured(const audio::Pcm& material, const LoopSpec& loop, std::uint64_t seed,
                            JobControl& job) {
  const std::int64_t fade = loop.crossfade_frames.value();
  const std::int64_t from = loop.range.start.value() - (loop.at_start ? 0 : fade);
  const std::int64_t to = loop.range.end.value() + (loop.at_start ? fade : 0);
  audio::Pcm rendered{material.sample_rate_hz, {}};
  for (const std::vector<float>& channel : material.channels)
    rendered.channels.emplace_back(channel.begin() + from, channel.begin() + to);
  const LoopSpec here{{loop.range.start - FrameCount(from), loop.range.end - FrameCount(from)},
                      loop.crossfade_frames,
                      loop.at_start};
  if (Status blended = blend_loop(rendered, here); !blended) return blended.error();
  return measure_seam(rendered, here, seed, job);
}

/// The loop with a crossfade of about `fade_s`, on the side where it fits, and no longer than
/// leaves enough of the loop to compare its level with.
LoopSpec with_fade(const FrameRange& range, double fade_s, const Bounds& bounds) {
  const std::int64_t length = range.length().value();
  const std::int64_t room = (length - std::llround(least_inside_s * bounds.rate_hz)) / 2;
  const std::int64_t briefest = std::llround(fades_alike_s.front() * bounds.rate_hz);
  const std::int64_t asked = std::llround(fade_s * bounds.rate_hz);
  const std::int64_t wanted = std::min({asked, length / 4, std::max(room, briefest)});
  const std::int64_t before = std::min(wanted, range.start.value());
  const std::int64_t after = std::min(wanted, bounds.frames - range.end.value());
  const bool at_start = before < after;
  return {range, FrameCount(at_start ? after : before), at_start};
}

/// The loop with a crossfade of about `fade_s` whose sides do not cancel, its end shifted by as
/// little as that takes: frame by frame up to 2 ms, then by quarters of a millisecond up to 20 ms.
/// Nothing where they cancel everywhere there.
std::optional<LoopSpec> blend_near(const audio::Pcm& material, const Bounds& bounds,
                                   const FrameRange& range, double fade_s) {
  const std::int64_t fine = std::llround(fine_shift_s * bounds.rate_hz);
  const std::int64_t stride =
      std::max<std::int64_t>(1, std::llround(shift_stride_s * bounds.rate_hz));
  const std::int64_t reach = std::llround(match_reach_s * bounds.rate_hz);
  for (std::int64_t shift = 0; shift <= reach; shift += shift < fine ? 1 : stride) {
    for (const std::int64_t moved : {shift, -shift}) {
      const FrameRange shifted{range.start, range.end + FrameCount(moved)};
      const std::int64_t length = shifted.length().value();
      if (length < bounds.least || length > bounds.most || shifted.end.value() > bounds.frames)
        continue;
      const LoopSpec loop = with_fade(shifted, fade_s, bounds);
      if (blend_correlation(material, loop) >= least_blend_correlation) return loop;
      if (shift == 0) break;
    }
  }
  return std::nullopt;
}

/// The loop with the first crossfade that makes it clean, else with the best one; with none where
/// the sides of every one cancel.
Result<LoopCandidate> best_blend(const audio::Pcm& material, const Bounds& bounds,
                                 const FrameRange& range, double correlation, std::uint64_t seed,
                                 JobControl& job) {
  std::vector<LoopSpec> blends;
  std::vector<FrameCount> tried;
  for (const double fade_s : correlation >= alike_correlation ? fades_alike_s : fades_unlike_s) {
    const FrameCount fade_frames = with_fade(range, fade_s, bounds).crossfade_frames;
    if (std::find(tried.begin(), tried.end(), fade_frames) != tried.end()) continue;
    tried.push_back(fade_frames);
    if (const auto loop = blend_near(material, bounds, range, fade_s)) blends.push_back(*loop);
  }
  if (blends.empty()) blends.push_back(with_fade(range, 0.0, bounds));
  std::optional<LoopCandidate> best;
  for (const LoopSpec& loop : blends) {
    Result<SeamReport> seam = measured(material, loop, seed, job);
    if (!seam) return seam.error();
    const double score = score_of(*seam, loop, bounds);
    if (!best || score > best->score) {
      const std::optional<double> period_s = seam->period_s;
      best = LoopCandidate{loop, period_s, *std::move(seam), score};
    }
    if (best->seam.state == SeamState::clean) break;
  }
  return *std::move(best);
}

bool truly_different(const LoopSpec& a, const LoopSpec& b) {
  const std::int64_t shared =
      std::min(a.range.end, b.range.end).value() - std::max(a.range.start, b.range.start).value();
  const std::int64_t spanned =
      std::max(a.range.end, b.range.end).value() - std::min(a.range.start, b.range.start).value();
  return 10 * shared <= 9 * spanned;
}

LoopSearch nothing(std::string reason) {
  return {{}, std::move(reason)};
}

}  // namespace

Result<LoopSearch> find_loops(const audio::Pcm& material, const LoopParams& params,
                              JobControl& job) {
  if (Status checked = check(material, params); !checked) return checked.error();
  const double rate_hz = material.sample_rate_hz;
  const std::int64_t frames = material.frames().value();
  if (frames == 0) return nothing("there is no material");
  const double seconds = static_cast<double>(frames) / rate_hz;
  Bounds bounds;
  bounds.frames = frames;
  bounds.rate_hz = rate_hz;
  bounds.least = static_cast<std::int64_t>(std::ceil(params.min_s * rate_hz - 1e-6));
  bounds.most = std::max(
      bounds.least, static_cast<std::int64_t>(std::min(params.max_s, seconds) * rate_hz + 1e-6));
  if (bounds.least > frames) {
    return nothing(fmt::format(
        "the material lasts {:.3f} s, which is shorter than the shortest loop wanted ({:.3f} s)",
        seconds, params.min_s));
  }
  const std::vector<std::vector<float>> channels = without_mean(material);
  if (silent(channels)) return nothing("the material is silent (under -100 dBFS)");

  job.progress(0.0, "comparing the material with itself");
  const auto wanted =
      static_cast<std::size_t>(std::max(seconds < short_material_s ? 40 : 20, 3 * params.count));
  Result<std::vector<Join>> joins =
      find_joins(channels, {rate_hz, bounds.least, bounds.most, wanted}, job);
  if (!joins) return joins.error();

  std::vector<LoopCandidate> found;
  for (std::size_t i = 0; i < joins->size(); ++i) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    job.progress(0.2 + 0.8 * static_cast<double>(i) / static_cast<double>(joins->size()),
                 "measuring seams");
    Join join = (*joins)[i];
    join.start_frame = std::min(join.start_frame, frames - bounds.least);
    const MatchedEnd end = matched_end(channels, join, bounds);
    Result<LoopCandidate> candidate =
        best_blend(material, bounds, frame_range(join.start_frame, end.end_frame), end.correlation,
                   params.seed, job);
    if (!candidate) return candidate.error();
    candidate->score *= steadiness(fall_db(channels, *candidate));
    found.push_back(*std::move(candidate));
  }
  std::stable_sort(found.begin(), found.end(), [](const LoopCandidate& a, const LoopCandidate& b) {
    return a.score > b.score;
  });
  LoopSearch search;
  for (LoopCandidate& candidate : found) {
    if (search.candidates.size() == static_cast<std::size_t>(params.count)) break;
    const bool fresh = std::all_of(
        search.candidates.begin(), search.candidates.end(),
        [&](const LoopCandidate& other) { return truly_different(candidate.loop, other.loop); });
    if (fresh) search.candidates.push_back(std::move(candidate));
  }
  const bool any_clean =
      std::any_of(search.candidates.begin(), search.candidates.end(),
                  [](const LoopCandidate& c) { return c.seam.state == SeamState::clean; });
  if (!search.candidates.empty() && !any_clean) {
    const LoopCandidate& best = search.candidates.front();
    search.reason = why_not_clean(best, fall_db(channels, best), rate_hz);
  }
  job.progress(1.0, "measuring seams");
  return search;
}

}  // namespace fourbeat::dsp
