// SPDX-License-Identifier: GPL-3.0-or-later
#include "better_stretch.h"

#include "fourbeat/dsp/steady.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/work/render.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

namespace {

constexpr double reach_s = 30.0;
constexpr std::size_t most_tries = 3;

/// What the microphones of a segment's mix cover together, on the pass clock.
FrameRange covered_by_mix(const model::Project& project, const model::Segment& segment) {
  const model::Pass* pass = model::find(project, segment.source.pass);
  FrameRange covered = segment.range;
  if (pass == nullptr) return covered;
  bool first = true;
  for (const model::MixInput& input : segment.source.mix) {
    const model::Take* take = model::find(project, input.take);
    const auto member = std::find_if(pass->takes.begin(), pass->takes.end(),
                                     [&](const auto& m) { return m.take == input.take; });
    if (take == nullptr || member == pass->takes.end()) continue;
    const FrameIndex start = FrameIndex(0) + member->offset_frames + input.delay_frames;
    const FrameIndex end = start + take->frames;
    covered = first ? FrameRange{start, end}
                    : FrameRange{std::max(covered.start, start), std::min(covered.end, end)};
    first = false;
  }
  return covered;
}

bool has_clean(const dsp::LoopSearch& search) {
  return !search.candidates.empty() &&
         search.candidates.front().seam.state == dsp::SeamState::clean;
}

audio::Pcm cut(const audio::Pcm& pcm, const FrameRange& range) {
  audio::Pcm out{pcm.sample_rate_hz, {}};
  for (const std::vector<float>& channel : pcm.channels) {
    out.channels.emplace_back(channel.begin() + range.start.value(),
                              channel.begin() + range.end.value());
  }
  return out;
}

}  // namespace

Result<std::optional<FrameRange>> better_stretch(const model::Project& project,
                                                 const std::filesystem::path& project_folder,
                                                 const model::Segment& segment,
                                                 dsp::LoopParams params, JobControl& job) {
  const model::Take* take =
      segment.source.mix.empty() ? nullptr : model::find(project, segment.source.mix.front().take);
  if (take == nullptr) return std::optional<FrameRange>();
  const FrameCount reach(std::llround(reach_s * take->sample_rate_hz));
  const FrameRange covered = covered_by_mix(project, segment);
  model::Segment wide = segment;
  wide.fade_in_frames = {};
  wide.fade_out_frames = {};
  wide.loop.reset();
  wide.range = {std::max(covered.start, segment.range.start - reach),
                std::min(covered.end, segment.range.end + reach)};
  if (!wide.range.contains(segment.range) || wide.range == segment.range)
    return std::optional<FrameRange>();
  const Result<audio::Pcm> material = render_material(project, project_folder, wide);
  if (!material) return material.error();
  const FrameCount shift = wide.range.start - FrameIndex(0);
  const FrameRange pattern{segment.range.start - shift, segment.range.end - shift};
  const Result<std::vector<FrameRange>> stretches = dsp::stretches_like(*material, pattern, job);
  if (!stretches) return stretches.error();
  params.count = 1;
  for (std::size_t i = 0; i < std::min(most_tries, stretches->size()); ++i) {
    const FrameRange& stretch = (*stretches)[i];
    if (pattern.contains(stretch)) continue;
    const Result<dsp::LoopSearch> search = dsp::find_loops(cut(*material, stretch), params, job);
    if (!search && search.error().code == ErrorCode::cancelled) return search.error();
    if (search && has_clean(*search))
      return std::optional(FrameRange{stretch.start + shift, stretch.end + shift});
  }
  return std::optional<FrameRange>();
}

}  // namespace fourbeat::work
