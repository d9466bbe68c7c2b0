// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/crossfade.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/hearing.h"
#include "fourbeat/work/loop_kinds.h"
#include "fourbeat/work/render.h"
#include "fourbeat/work/segments.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

namespace {

constexpr double beside_s = 0.02;  ///< what the picture shows beside the crossfade and the wrap

/// Frames from..to of samples; what lies outside is silence.
std::vector<float> window(const std::vector<float>& samples, std::int64_t from, std::int64_t to) {
  std::vector<float> shown;
  shown.reserve(static_cast<std::size_t>(to - from));
  for (std::int64_t i = from; i < to; ++i) {
    const bool there = i >= 0 && i < static_cast<std::int64_t>(samples.size());
    shown.push_back(there ? samples[static_cast<std::size_t>(i)] : 0.0F);
  }
  return shown;
}

SeamPicture picture_of(audio::Pcm material, const audio::Clip& rendered,
                       const dsp::LoopSpec& loop) {
  SeamPicture picture;
  dsp::take_out_octave_drift(material, loop);
  if (loop.crossfade_frames > FrameCount(0)) picture.rho = dsp::blend_correlation(material, loop);
  dsp::take_out_level_drift(material, loop);
  picture.sample_rate_hz = rendered.sample_rate_hz;
  const std::int64_t fade = loop.crossfade_frames.value();
  picture.fade = loop.at_start ? frame_range(0, fade) : frame_range(-fade, 0);
  const std::int64_t beside = std::llround(beside_s * rendered.sample_rate_hz);
  const std::int64_t from = -beside - (loop.at_start ? 0 : fade);
  const std::int64_t to = beside + (loop.at_start ? fade : 0);
  picture.first_frame = from;
  const std::vector<float>& samples = material.channels.front();
  const std::int64_t start = loop.range.start.value();
  const std::int64_t end = loop.range.end.value();
  const std::int64_t length = end - start;
  picture.leaving = window(samples, end + from, end + to);
  picture.arriving = window(samples, start + from, start + to);
  picture.heard.reserve(static_cast<std::size_t>(to - from));
  for (std::int64_t i = from; i < to; ++i) {
    const std::int64_t place = start + ((i % length) + length) % length;
    picture.heard.push_back(rendered.samples[static_cast<std::size_t>(place)]);
  }
  return picture;
}

}  // namespace

Result<SeamStudy> study_seam(const model::Project& project,
                             const std::filesystem::path& project_folder, const model::Piece& piece,
                             const HearingPlan& plan, JobControl& job) {
  if (!piece.loop) {
    return Error{ErrorCode::bad_argument, {}, piece.name, "it has no loop", "set a loop first"};
  }
  Renderer renderer(project, project_folder);
  const Result<audio::Clip> clip = renderer.render(piece);
  if (!clip) return clip.error();
  model::Piece unlooped = piece;
  unlooped.loop.reset();
  Result<audio::Clip> material = renderer.render(unlooped);
  if (!material) return material.error();
  if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  SeamStudy study;
  study.piece = piece;
  study.recipe = model::recipe_hash(project, piece);
  const dsp::LoopSpec loop = spec_in_material(*piece.loop, piece.range.start);
  study.picture =
      picture_of({material->sample_rate_hz, {std::move(material->samples)}}, *clip, loop);
  Result<dsp::SeamReport> report =
      dsp::measure_seam({clip->sample_rate_hz, {clip->samples}}, loop, 1, job);
  if (!report) return report.error();
  study.report = std::move(*report);
  if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  Result<Hearing> hearing = hear(*clip, piece.name, plan, review_side_s);
  if (!hearing) return hearing.error();
  study.hearing = std::move(*hearing);
  return study;
}

Result<std::vector<model::Loop>> find_piece_loops(const model::Project& project,
                                                  const std::filesystem::path& project_folder,
                                                  const model::Piece& piece, JobControl& job) {
  model::Piece unlooped = piece;
  unlooped.loop.reset();
  Renderer renderer(project, project_folder);
  Result<audio::Clip> material = renderer.render(unlooped);
  if (!material) return material.error();
  const double rate_hz = material->sample_rate_hz;
  dsp::LoopParams params = loop_params(project, piece.key.segment);
  if (piece.key.row.is_set()) params.min_s = shortest_loop_s(model::Category::exhaust);
  params = brought_down(params, static_cast<double>(material->samples.size()) / rate_hz);
  const Result<dsp::LoopSearch> found =
      dsp::find_loops({rate_hz, {std::move(material->samples)}}, params, job);
  if (!found) return found.error();
  std::vector<model::Loop> loops;
  for (const dsp::LoopCandidate& candidate : found->candidates)
    loops.push_back(loop_in_material(candidate.loop, piece.range.start));
  return loops;
}

Result<model::Edit> edit_to_set_loop(const model::Project& project, const model::PieceKey& key,
                                     const model::Loop& loop) {
  if (key.segment.is_set()) return model::Edit(model::SetLoop{key.segment, loop});
  const model::ChuffRow* row = model::find(project, key.row);
  if (row == nullptr || !row->fused) {
    return Error{ErrorCode::not_found,
                 {},
                 {},
                 fmt::format("no fused row {}", key.row.value()),
                 "build the chuff table first"};
  }
  model::ChuffRow changed = *row;
  changed.fused->loop = loop;
  return model::Edit(model::Replace<model::ChuffRow>{std::move(changed)});
}

}  // namespace fourbeat::work
