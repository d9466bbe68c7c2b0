// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/segments.h"

#include "better_stretch.h"

#include "fourbeat/audio/loudness.h"
#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/store/project_file.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/render.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

FrameCount pass_offset(const model::Project& project, Id<model::Take> take) {
  const model::Pass* pass = model::pass_of(project, take);
  if (pass == nullptr) return {};
  for (const model::PassTake& member : pass->takes) {
    if (member.take == take) return member.offset_frames;
  }
  return {};
}

FrameRange on_pass(const model::Project& project, Id<model::Take> take, FrameRange of_take) {
  const FrameCount offset = pass_offset(project, take);
  return {of_take.start + offset, of_take.end + offset};
}

FrameRange on_take(const model::Project& project, Id<model::Take> take, FrameRange of_pass) {
  const FrameCount offset = pass_offset(project, take);
  return {of_pass.start - offset, of_pass.end - offset};
}

Result<model::Segment> cut_segment(const model::Project& project, Id<model::Take> id, int channel,
                                   FrameRange of_take, const std::string& name) {
  const model::Take* take = model::find(project, id);
  const model::Pass* pass = model::pass_of(project, id);
  if (take == nullptr || pass == nullptr) {
    return Error{ErrorCode::not_found,
                 {},
                 {},
                 take == nullptr ? fmt::format("no take {}", id.value()) : "the take has no pass",
                 {}};
  }
  if (channel < 1 || channel > take->channels) {
    return Error{ErrorCode::bad_argument,
                 take->path,
                 {},
                 fmt::format("channel {} of {}", channel, take->channels),
                 {}};
  }
  if (of_take.empty() ||
      !FrameRange{FrameIndex(0), FrameIndex(0) + take->frames}.contains(of_take)) {
    return Error{ErrorCode::bad_argument,
                 take->path,
                 {},
                 fmt::format("frames {} to {} of {}", of_take.start.value(), of_take.end.value(),
                             take->frames.value()),
                 "select a stretch inside the take"};
  }
  model::Segment segment;
  segment.name = name;
  segment.source.pass = pass->id;
  model::MixInput input;
  input.take = id;
  input.channel = channel;
  segment.source.mix.push_back(input);
  segment.range = on_pass(project, id, of_take);
  return segment;
}

dsp::LoopParams brought_down(dsp::LoopParams params, double length_s) {
  params.max_s = std::min(params.max_s, length_s);
  params.min_s = std::min(params.min_s, 0.5 * length_s);
  return params;
}

std::vector<model::Edit> edits_to_remove_segment(const model::Project& project,
                                                 Id<model::Segment> segment) {
  std::vector<model::Edit> edits;
  for (const model::Verdict& verdict : project.verdicts) {
    if (verdict.segment == segment) edits.emplace_back(model::Remove<model::Verdict>{verdict.id});
  }
  edits.emplace_back(model::Remove<model::Segment>{segment});
  return edits;
}

Result<dsp::LoopSearch> find_segment_loops(const model::Project& project,
                                           const std::filesystem::path& project_folder,
                                           Id<model::Segment> id, dsp::LoopParams params,
                                           JobControl& job) {
  const model::Segment* segment = model::find(project, id);
  if (segment == nullptr) {
    return Error{ErrorCode::not_found, {}, {}, fmt::format("no segment {}", id.value()), {}};
  }
  const Result<audio::Pcm> material = render_material(project, project_folder, *segment);
  if (!material) return material.error();
  const double rate_hz = material->sample_rate_hz;
  const double length_s = static_cast<double>(material->frames().value()) / rate_hz;
  const Id<model::Take> take = segment->source.mix.front().take;
  const auto take_s = [&](FrameIndex of_pass) {
    return static_cast<double>((of_pass - FrameIndex(0) - pass_offset(project, take)).value()) /
           rate_hz;
  };
  dsp::LoopParams held = brought_down(params, length_s);
  held.origin_s = take_s(segment->range.start);
  Result<dsp::LoopSearch> search = dsp::find_loops(*material, held, job);
  if (!search) return search;
  const bool short_best =
      search->candidates.empty() ||
      static_cast<double>(search->candidates.front().loop.range.length().value()) <
          params.min_s * rate_hz - 1.0;
  if (held.min_s < params.min_s && short_best) {
    search->reason += fmt::format(
        "{}the segment lasts {:.2f} s, too short to choose from loops of {:.2f} s or "
        "more; cut a longer one",
        search->reason.empty() ? "" : "; ", length_s, params.min_s);
  }
  if (search->reason.empty()) return search;
  const Result<std::optional<FrameRange>> better =
      better_stretch(project, project_folder, *segment, params, job);
  if (!better) return better.error();
  if (*better) {
    search->reason += fmt::format(
        "; the take sounds alike from {:.1f} s to {:.1f} s and has a clean loop there: cut the "
        "segment from that",
        take_s((*better)->start), take_s((*better)->end));
  }
  return search;
}

std::vector<Id<model::Segment>> holds_without_loop(const model::Project& project) {
  std::vector<Id<model::Segment>> wanted;
  for (const model::Sound& sound : project.sounds) {
    const model::Segment* hold = model::find(project, sound.hold);
    if (sound.kind == model::SoundKind::held && hold != nullptr && !hold->loop &&
        std::find(wanted.begin(), wanted.end(), hold->id) == wanted.end()) {
      wanted.push_back(hold->id);
    }
  }
  return wanted;
}

Result<model::Piece> looped_piece(const model::Project& project, const model::PieceKey& key) {
  std::string place;
  if (key.segment.is_set()) {
    const model::Segment* segment = model::find(project, key.segment);
    if (segment == nullptr) {
      return Error{
          ErrorCode::not_found, {}, {}, fmt::format("no segment {}", key.segment.value()), {}};
    }
    if (segment->loop) return model::piece_of(*segment);
    place = store::pointer_of(project, segment->id);
  } else {
    const model::ChuffRow* row = model::find(project, key.row);
    if (row == nullptr) {
      return Error{
          ErrorCode::not_found, {}, {}, fmt::format("no chuff row {}", key.row.value()), {}};
    }
    for (model::Piece& piece : model::looped_pieces(project)) {
      if (piece.key.row == row->id) return std::move(piece);
    }
    place = store::pointer_of(project, row->id);
  }
  return Error{ErrorCode::bad_argument,
               {},
               std::move(place),
               "it has no loop",
               "set a loop, listen to its seam, then judge it"};
}

Result<model::Edit> judge_seam(const model::Project& project, const model::PieceKey& key,
                               model::VerdictKind kind, const HeardAs& heard,
                               const std::string& note) {
  const Result<model::Piece> piece = looped_piece(project, key);
  if (!piece) return piece.error();
  model::Verdict verdict;
  verdict.segment = key.segment;
  verdict.row = key.row;
  verdict.kind = kind;
  verdict.recipe = model::recipe_hash(project, *piece);
  verdict.sample_rate_hz = heard.sample_rate_hz;
  verdict.bits = heard.bits;
  verdict.speaker = heard.speaker;
  verdict.note = note;
  return model::Edit(model::Add<model::Verdict>{verdict, std::nullopt});
}

Result<audio::Clip> through_seam(const audio::Clip& looped, double seconds) {
  if (!looped.loop || looped.loop->empty()) {
    return Error{ErrorCode::bad_argument, {}, {}, "there is no loop", "set a loop first"};
  }
  if (!(seconds > 0.0) || seconds > 60.0) {
    return Error{ErrorCode::bad_argument, {}, {}, fmt::format("{} s about the seam", seconds), {}};
  }
  const std::int64_t start = looped.loop->start.value();
  const std::int64_t length = looped.loop->length().value();
  const std::int64_t side = std::llround(seconds * looped.sample_rate_hz);
  audio::Clip heard;
  heard.sample_rate_hz = looped.sample_rate_hz;
  heard.bits = looped.bits;
  heard.samples.reserve(static_cast<std::size_t>(2 * side));
  for (std::int64_t i = -side; i < side; ++i) {
    const std::int64_t place = ((i % length) + length) % length;
    heard.samples.push_back(looped.samples[static_cast<std::size_t>(start + place)]);
  }
  return heard;
}

Result<audio::Clip> render_segment(const model::Project& project,
                                   const std::filesystem::path& project_folder,
                                   const model::Segment& segment, JobControl& job) {
  Renderer renderer(project, project_folder, &job);
  return renderer.render(model::piece_of(segment));
}

std::optional<ClipLoudness> loudness_of(const audio::Clip& clip) {
  if (Result<audio::LoudnessMeter> meter = audio::LoudnessMeter::make(1, clip.sample_rate_hz)) {
    if (meter->add({clip.sample_rate_hz, {clip.samples}})) {
      if (const auto lufs = meter->figures().integrated_lufs) return ClipLoudness{*lufs, true};
    }
  }
  const auto energy_db = audio::k_weighted_energy_db(clip.samples, clip.sample_rate_hz);
  if (!energy_db) return std::nullopt;
  return ClipLoudness{*energy_db, false};
}

Status write_segment(const model::Project& project, const std::filesystem::path& project_folder,
                     const model::Segment& segment, const std::filesystem::path& out,
                     JobControl& job) {
  if (const Status safe = store::refuse_takes_as_output(project, project_folder, out); !safe) {
    return safe.error();
  }
  Result<audio::Clip> clip = render_segment(project, project_folder, segment, job);
  if (!clip) return clip.error();
  const std::optional<FrameRange> loop = clip->loop;
  return audio::write_wav(out, {clip->sample_rate_hz, {std::move(clip->samples)}},
                          audio::WavDepth::s24, loop);
}

Result<CleanComparison> compare_cleaning(const model::Project& project,
                                         const std::filesystem::path& project_folder,
                                         const model::Segment& segment, JobControl& job) {
  const Result<audio::Clip> cleaned = render_segment(project, project_folder, segment, job);
  if (!cleaned) return cleaned.error();
  model::Segment raw = segment;
  raw.source.clean.clear();
  Result<audio::Clip> uncleaned = render_segment(project, project_folder, raw, job);
  if (!uncleaned) return uncleaned.error();
  CleanComparison comparison;
  double before = 0.0;
  double removed = 0.0;
  for (std::size_t i = 0; i < uncleaned->samples.size(); ++i) {
    const double x = uncleaned->samples[i];
    const double difference = x - cleaned->samples[i];
    before += x * x;
    removed += difference * difference;
  }
  if (before > 0.0 && removed > 0.0) comparison.removed_db = 10.0 * std::log10(removed / before);
  const std::optional<ClipLoudness> loud = loudness_of(*uncleaned);
  const std::optional<ClipLoudness> wanted = loudness_of(*cleaned);
  if (loud && wanted && loud->is_lufs == wanted->is_lufs) {
    comparison.matched_db = wanted->db - loud->db;
    const auto gain = static_cast<float>(gain_of_db(*comparison.matched_db));
    for (float& sample : uncleaned->samples)
      sample *= gain;
  }
  comparison.uncleaned = std::move(*uncleaned);
  return comparison;
}

}  // namespace fourbeat::work
