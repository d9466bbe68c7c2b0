// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan.h"

#include "fourbeat/audio/resample.h"

#include <fmt/format.h>

namespace fourbeat::fit {

namespace {

/// 2^(5/1200) - 1: five cents, about the least change of pitch that is heard (from memory; common
/// practice, no source).
constexpr double most_pitch_change = 0.0028922879;
constexpr int most_turns = 4096;

Error bad(std::string detail) {
  return Error{ErrorCode::bad_argument, {}, {}, std::move(detail), {}};
}

Status check_source(const audio::Clip& source) {
  if (!(source.sample_rate_hz >= 1.0 && source.sample_rate_hz <= 1.0e6)) {
    return bad(fmt::format("a clip of {} Hz; 1 Hz to 1 MHz", source.sample_rate_hz));
  }
  if (!source.loop) return ok();
  const FrameRange all = frame_range(0, static_cast<std::int64_t>(source.samples.size()));
  if (source.loop->empty() || !all.contains(*source.loop)) {
    return bad(fmt::format("a loop of frames {} to {} in a clip of {}", source.loop->start.value(),
                           source.loop->end.value(), source.samples.size()));
  }
  return ok();
}

}  // namespace

Result<ResamplePlan> plan_resampling(const audio::Clip& source, int sample_rate_hz,
                                     const model::LoopRules& rules) {
  if (const Status checked = check_source(source); !checked) return checked.error();
  if (rules.multiple_of_frames < 1 || rules.min_frames < 1) {
    return bad("a decoder whose loop rules are below 1 frame");
  }
  ResamplePlan plan;
  plan.ratio = sample_rate_hz / source.sample_rate_hz;
  plan.to_hz = sample_rate_hz;
  if (!source.loop) {
    plan.frames = std::llround(static_cast<double>(source.samples.size()) * plan.ratio);
    return plan;
  }
  const std::int64_t loop_in = source.loop->length().value();
  const std::int64_t multiple = rules.multiple_of_frames;
  for (int turns = 1; turns <= most_turns; ++turns) {
    const double exact = static_cast<double>(loop_in) * turns * plan.ratio;
    const std::int64_t loop_out =
        std::max<std::int64_t>(1, std::llround(exact / static_cast<double>(multiple))) * multiple;
    if (loop_out < rules.min_frames) continue;
    if (std::abs(static_cast<double>(loop_out) / exact - 1.0) > most_pitch_change) continue;
    const double from = static_cast<double>(loop_in) * turns;
    plan.ratio = static_cast<double>(loop_out) / from;
    plan.to_hz = source.sample_rate_hz * static_cast<double>(loop_out) / from;
    plan.loop_frames = loop_out;
    plan.loop_turns = turns;
    plan.loop_start = static_cast<std::int64_t>(
        std::ceil(static_cast<double>(source.loop->start.value()) * plan.ratio));
    plan.frames = plan.loop_start + loop_out;
    return plan;
  }
  return Error{
      ErrorCode::too_short,
      {},
      {},
      fmt::format("a loop of {} frames at {} Hz cannot be kept whole at {} Hz in multiples of {}",
                  loop_in, source.sample_rate_hz, sample_rate_hz, multiple),
      "make the loop longer"};
}

std::vector<float> played(const audio::Clip& clip, std::int64_t frames) {
  const auto end =
      clip.loop ? clip.loop->end.value() : static_cast<std::int64_t>(clip.samples.size());
  std::vector<float> out(clip.samples.begin(), clip.samples.begin() + std::min(end, frames));
  out.reserve(static_cast<std::size_t>(frames));
  std::int64_t at = clip.loop ? clip.loop->start.value() : 0;
  while (std::cmp_less(out.size(), frames)) {
    out.push_back(clip.loop ? clip.samples[static_cast<std::size_t>(at)] : 0.0F);
    if (clip.loop && ++at == end) at = clip.loop->start.value();
  }
  return out;
}

Result<std::vector<float>> resample_clip(const audio::Clip& source, const ResamplePlan& plan) {
  if (!source.loop) {
    Result<std::vector<float>> made =
        audio::resample(source.samples, source.sample_rate_hz, plan.to_hz);
    if (made) made->resize(static_cast<std::size_t>(plan.frames), 0.0F);
    return made;
  }

  // Frames near the loop's start are taken from the first turn that stands a filter's reach behind
  // the head: there the filter sees the loop to both sides.
  const auto reach = static_cast<std::int64_t>(
      std::ceil(static_cast<double>(filter_reach_frames) * std::max(1.0, plan.ratio)));
  const std::int64_t settled = plan.loop_start + reach;
  const auto source_frames = static_cast<std::int64_t>(
      std::ceil(static_cast<double>(settled + plan.loop_frames + reach) / plan.ratio));
  Result<std::vector<float>> made =
      audio::resample(played(source, source_frames), source.sample_rate_hz, plan.to_hz);
  if (!made) return made;
  std::vector<float>& samples = *made;
  for (std::int64_t frame = plan.loop_start; frame < plan.frames; ++frame) {
    const std::int64_t short_by = std::max<std::int64_t>(0, settled - frame);
    const std::int64_t turns = (short_by + plan.loop_frames - 1) / plan.loop_frames;
    samples[static_cast<std::size_t>(frame)] =
        samples[static_cast<std::size_t>(frame + turns * plan.loop_frames)];
  }
  samples.resize(static_cast<std::size_t>(plan.frames));
  return made;
}

}  // namespace fourbeat::fit
