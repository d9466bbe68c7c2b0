// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/render.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/base/text.h"
#include "fourbeat/dsp/clean.h"
#include "fourbeat/dsp/crossfade.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/work/analyse.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <span>

namespace fourbeat::work {

namespace {

constexpr double settle_s = 1.0;  ///< how long the clean chain runs before the piece
constexpr FrameCount block_frames(std::int64_t{1} << 20);  ///< read at once

/// Adds one microphone to the mix. `range` is on the pass clock; what lies before the take's
/// first frame or after its last is silence there.
Status add_input(audio::SoundFileReader& reader, const model::MixInput& input,
                 FrameCount take_offset, FrameRange range, std::span<float> mix) {
  const FrameCount shift = take_offset + input.delay_frames;
  const FrameRange wanted{range.start - shift, range.end - shift};
  const FrameRange there{std::max(wanted.start, FrameIndex(0)),
                         std::min(wanted.end, FrameIndex(0) + reader.info().frames)};
  if (there.empty()) return ok();
  const int channel = input.channel;
  const Result<audio::Pcm> pcm = reader.read(there, std::span(&channel, 1));
  if (!pcm) return pcm.error();
  const double gain = gain_of_db(input.gain_db) * (input.inverted ? -1.0 : 1.0);
  const auto offset = static_cast<std::size_t>((there.start - wanted.start).value());
  const std::vector<float>& samples = pcm->channels.front();
  for (std::size_t i = 0; i < samples.size(); ++i) {
    mix[offset + i] = static_cast<float>(static_cast<double>(mix[offset + i]) +
                                         gain * static_cast<double>(samples[i]));
  }
  return ok();
}

void fade(std::vector<float>& samples, FrameCount fade_in, FrameCount fade_out) {
  const auto length = static_cast<std::int64_t>(samples.size());
  const auto in_frames = std::min(fade_in.value(), length);
  for (std::int64_t i = 0; i < in_frames; ++i) {
    samples[static_cast<std::size_t>(i)] *= static_cast<float>(i) / static_cast<float>(in_frames);
  }
  const auto out_frames = std::min(fade_out.value(), length);
  for (std::int64_t i = 0; i < out_frames; ++i) {
    samples[static_cast<std::size_t>(length - 1 - i)] *=
        static_cast<float>(i) / static_cast<float>(out_frames);
  }
}

/// One microphone of a piece: where it is in its pass.
struct Input {
  const model::MixInput* mix = nullptr;
  const model::Take* take = nullptr;
  FrameCount offset_frames;
};

Result<std::vector<Input>> inputs_of(const model::Project& project, const model::Source& source) {
  const model::Pass* pass = model::find(project, source.pass);
  if (pass == nullptr) {
    return Error{ErrorCode::not_found, {}, {}, "the pass it is cut from", {}};
  }
  if (source.mix.empty())
    return Error{ErrorCode::bad_input, {}, {}, "no microphone in its mix", {}};
  std::vector<Input> inputs;
  for (const model::MixInput& input : source.mix) {
    const model::Take* take = model::find(project, input.take);
    const auto member = std::find_if(pass->takes.begin(), pass->takes.end(),
                                     [&](const auto& m) { return m.take == input.take; });
    if (take == nullptr || member == pass->takes.end()) {
      return Error{ErrorCode::not_found, {}, {}, "a take of its mix is not in its pass", {}};
    }
    if (input.channel < 1 || input.channel > take->channels) {
      return Error{ErrorCode::bad_input,
                   {},
                   {},
                   fmt::format("channel {} of a take with {}", input.channel, take->channels),
                   {}};
    }
    if (!inputs.empty() && inputs.front().take->sample_rate_hz != take->sample_rate_hz) {
      return Error{ErrorCode::bad_input, {}, {}, "takes of different sample rates", {}};
    }
    inputs.push_back({&input, take, member->offset_frames});
  }
  return inputs;
}

Error at_piece(Error error, const model::Piece& piece) {
  if (error.place.empty()) error.place = piece.name;
  return error;
}

}  // namespace

struct Renderer::State {
  const model::Project& project;
  std::filesystem::path folder;
  JobControl* job = nullptr;
  std::map<Id<model::Take>, audio::SoundFileReader> readers;

  /// An error once the job is no longer wanted.
  [[nodiscard]] Status wanted() const {
    if (job == nullptr || !job->cancelled()) return ok();
    return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  }

  Result<audio::SoundFileReader*> reader_of(const model::Take& take) {
    if (const auto open = readers.find(take.id); open != readers.end()) return &open->second;
    const Result<std::filesystem::path> path = store::take_path(folder, take);
    if (!path) return path.error();
    Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(*path);
    if (!reader) return reader.error();
    const audio::SoundFileInfo& info = reader->info();
    if (info.channels != take.channels || info.sample_rate_hz != take.sample_rate_hz ||
        info.frames != take.frames) {
      return Error{ErrorCode::changed,
                   path_text(*path),
                   {},
                   fmt::format("{} channels, {} Hz, {} frames", info.channels, info.sample_rate_hz,
                               info.frames.value()),
                   {}};
    }
    return &readers.emplace(take.id, std::move(*reader)).first->second;
  }

  /// The mix of a piece over `range` of its pass.
  Result<std::vector<float>> mix(const std::vector<Input>& inputs, FrameRange range) {
    std::vector<float> samples(static_cast<std::size_t>(range.length().value()), 0.0F);
    for (const Input& input : inputs) {
      Result<audio::SoundFileReader*> reader = reader_of(*input.take);
      if (!reader) return reader.error();
      for (FrameIndex at = range.start; at < range.end; at = at + block_frames) {
        if (const Status asked = wanted(); !asked) return asked.error();
        const FrameRange block{at, std::min(range.end, at + block_frames)};
        const auto place = static_cast<std::size_t>((at - range.start).value());
        if (const Status added =
                add_input(**reader, *input.mix, input.offset_frames, block,
                          std::span(samples).subspan(
                              place, static_cast<std::size_t>(block.length().value())));
            !added) {
          return added.error();
        }
      }
    }
    return samples;
  }
};

Renderer::Renderer(const model::Project& project, std::filesystem::path project_folder,
                   JobControl* job)
    : state_(std::make_unique<State>(State{project, std::move(project_folder), job, {}})) {}
Renderer::~Renderer() = default;

Result<audio::Clip> Renderer::render(const model::Piece& piece) {
  if (piece.range.empty()) {
    return at_piece(Error{ErrorCode::too_short, {}, {}, "no frame in its range", {}}, piece);
  }
  const Result<std::vector<Input>> inputs = inputs_of(state_->project, piece.source);
  if (!inputs) return at_piece(inputs.error(), piece);
  FrameRange covered{piece.range.start, piece.range.start};
  for (const Input& input : *inputs) {
    const FrameIndex first = FrameIndex(0) + input.offset_frames;
    const FrameIndex last = first + input.take->frames;
    covered = covered.empty()
                  ? FrameRange{first, last}
                  : FrameRange{std::min(covered.start, first), std::max(covered.end, last)};
  }
  if (!covered.contains(piece.range)) {
    return at_piece(
        Error{ErrorCode::bad_input,
              {},
              {},
              fmt::format("frames {} to {} of a pass that has {} to {}", piece.range.start.value(),
                          piece.range.end.value(), covered.start.value(), covered.end.value()),
              "trim it to the pass"},
        piece);
  }
  const int sample_rate_hz = inputs->front().take->sample_rate_hz;
  const bool filtered = !piece.source.clean.empty() || piece.tilt_db_per_octave != 0.0;
  const FrameCount settle(filtered ? std::llround(settle_s * sample_rate_hz) : 0);
  Result<std::vector<float>> mixed =
      state_->mix(*inputs, {piece.range.start - settle, piece.range.end});
  if (!mixed) return at_piece(mixed.error(), piece);
  std::vector<float> samples = std::move(*mixed);
  for (const model::CleanStep& step : piece.source.clean) {
    if (const Status asked = state_->wanted(); !asked) return asked.error();
    if (const Status cleaned = run_clean_chain(samples, sample_rate_hz, {step}); !cleaned) {
      return at_piece(cleaned.error(), piece);
    }
  }
  if (const Status asked = state_->wanted(); !asked) return asked.error();
  if (const Status tilted =
          dsp::tilt(samples, sample_rate_hz, piece.tilt_db_per_octave, model::tilt_pivot_hz);
      !tilted) {
    return at_piece(tilted.error(), piece);
  }
  samples.erase(samples.begin(), samples.begin() + settle.value());
  const auto gain = static_cast<float>(gain_of_db(piece.gain_db));
  for (float& sample : samples)
    sample *= gain;
  fade(samples, piece.fade_in_frames, piece.fade_out_frames);

  audio::Clip clip;
  clip.sample_rate_hz = sample_rate_hz;
  if (piece.loop) {
    const dsp::LoopSpec loop = spec_in_material(*piece.loop, piece.range.start);
    audio::Pcm pcm{clip.sample_rate_hz, {std::move(samples)}};
    const Status blended = dsp::blend_loop(pcm, loop);
    if (!blended) return at_piece(blended.error(), piece);
    samples = std::move(pcm.channels.front());
    clip.loop = loop.range;
  }
  clip.samples = std::move(samples);
  return clip;
}

Result<audio::Pcm> render_material(const model::Project& project,
                                   const std::filesystem::path& project_folder,
                                   const model::Segment& segment) {
  model::Piece piece = model::piece_of(segment);
  piece.loop.reset();
  Renderer renderer(project, project_folder);
  Result<audio::Clip> clip = renderer.render(piece);
  if (!clip) return clip.error();
  return audio::Pcm{clip->sample_rate_hz, {std::move(clip->samples)}};
}

}  // namespace fourbeat::work
