// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/loop_finder.h"

#include "loop_drift.h"
#include "loop_joins.h"
#include "loop_match.h"
#include "loop_search.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <span>

namespace fourbeat::dsp {

namespace {

constexpr double least_rate_hz = 2000.0;
constexpr double most_rate_hz = 768000.0;
constexpr double least_loop_s = 0.02;
constexpr int most_candidates = 50;
constexpr double silent_rms = 1e-5;  // -100 dBFS
constexpr double match_half_s = 0.03;
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

bool truly_different(const LoopSpec& a, const LoopSpec& b) {
  const std::int64_t shared =
      std::min(a.range.end, b.range.end).value() - std::max(a.range.start, b.range.start).value();
  const std::int64_t spanned =
      std::max(a.range.end, b.range.end).value() - std::min(a.range.start, b.range.start).value();
  return 10 * shared <= 9 * spanned;
}

/// A loop worth measuring.
struct Try {
  FrameRange range;
  double correlation = 0.0;  ///< of the waveforms around both ends
  LoopDrift drift;
  double most_score = 0.0;  ///< what it can have at best
};

/// The loops to be measured, those first that can have the highest score.
std::vector<Try> tries_of(const Searched& searched, const Levels& levels,
                          const std::vector<Join>& joins) {
  const Bounds& bounds = searched.bounds;
  std::vector<Try> tries;
  for (Join join : joins) {
    join.start_frame = std::min(join.start_frame, bounds.frames - bounds.least);
    const MatchedEnd end = matched_end(searched.channels, join, bounds);
    Try one{frame_range(join.start_frame, end.end_frame), end.correlation, {}, 0.0};
    one.drift = loop_drift(searched.channels, levels, one.range, bounds.rate_hz);
    // A shift to a better blend may lengthen it.
    const std::int64_t longest =
        one.range.length().value() + std::llround(match_reach_s * bounds.rate_hz);
    one.most_score =
        most_score(longest, drift_size_db(one.drift.level_db, one.drift.octaves_db), bounds);
    tries.push_back(std::move(one));
  }
  std::stable_sort(tries.begin(), tries.end(),
                   [](const Try& a, const Try& b) { return a.most_score > b.most_score; });
  return tries;
}

/// The best of the loops measured, best first, truly different from one another.
std::vector<LoopCandidate> chosen_of(const std::vector<LoopCandidate>& found, std::size_t count) {
  std::vector<LoopCandidate> chosen;
  for (const LoopCandidate& candidate : found) {
    if (chosen.size() == count) break;
    const bool fresh = std::all_of(chosen.begin(), chosen.end(), [&](const LoopCandidate& other) {
      return truly_different(candidate.loop, other.loop);
    });
    if (fresh) chosen.push_back(candidate);
  }
  return chosen;
}

/// Measures loops until none of the rest can be among the best.
Result<std::vector<LoopCandidate>> best_of(const Searched& searched, const std::vector<Try>& tries,
                                           const LoopParams& params, JobControl& job) {
  const auto count = static_cast<std::size_t>(params.count);
  std::vector<LoopCandidate> found;
  std::vector<LoopCandidate> chosen;
  for (std::size_t i = 0; i < tries.size(); ++i) {
    const Try& one = tries[i];
    if (chosen.size() == count && chosen.back().score >= one.most_score) break;
    if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    job.progress(0.2 + 0.8 * static_cast<double>(i) / static_cast<double>(tries.size()),
                 "measuring seams");
    Result<LoopCandidate> candidate =
        best_blend(searched, one.range, one.correlation, one.drift, params.seed, job);
    if (!candidate) return candidate.error();
    const LoopSpec& loop = candidate->loop;
    candidate->score *=
        steadiness(candidate->seam, drift_size_db(loop.drift_db, loop.octave_drift_db)) *
        calmness(candidate->seam.tell_db);
    const auto place = std::upper_bound(
        found.begin(), found.end(), candidate->score,
        [](double score, const LoopCandidate& other) { return score > other.score; });
    found.insert(place, *std::move(candidate));
    chosen = chosen_of(found, count);
  }
  return chosen;
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
  const Result<Levels> levels = levels_of(channels, rate_hz, job);
  if (!levels) return levels.error();
  Result<std::vector<Join>> joins =
      find_joins(channels, *levels, {rate_hz, bounds.least, bounds.most, wanted}, job);
  if (!joins) return joins.error();

  MaterialHops hops(material.channels, rate_hz);
  const Searched searched{material, channels, hops, bounds};
  Result<std::vector<LoopCandidate>> chosen =
      best_of(searched, tries_of(searched, *levels, *joins), params, job);
  if (!chosen) return chosen.error();
  LoopSearch search{*std::move(chosen), {}};
  const bool any_clean =
      std::any_of(search.candidates.begin(), search.candidates.end(),
                  [](const LoopCandidate& c) { return c.seam.state == SeamState::clean; });
  if (!search.candidates.empty() && !any_clean) {
    const LoopCandidate& best = search.candidates.front();
    std::optional<LoopEvent> event;
    if (const auto one = one_off_event(*levels)) {
      const std::int64_t frame = one->step * levels->step_frames;
      if (frame >= best.loop.range.start.value() && frame < best.loop.range.end.value())
        event = LoopEvent{params.origin_s + static_cast<double>(frame) / rate_hz, one->over_db};
    }
    search.reason = why_not_clean(best, event, rate_hz);
  }
  job.progress(1.0, "measuring seams");
  return search;
}

}  // namespace fourbeat::dsp
