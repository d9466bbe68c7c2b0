// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/analyse.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/dsp/clean.h"
#include "fourbeat/work/file_source.h"

#include <fmt/format.h>

namespace fourbeat::work {

namespace {

Error argument(const std::string& place, std::string detail) {
  return Error{ErrorCode::bad_argument, {}, place, std::move(detail), {}};
}

Error of_file(Error error, const std::filesystem::path& file) {
  if (error.file.empty()) error.file = path_text(file);
  return error;
}

Status refuse_itself(const std::filesystem::path& file, const std::filesystem::path& out) {
  if (!same_file(file, out)) return ok();
  return Error{ErrorCode::would_overwrite, path_text(out), {}, "it is the recording itself", {}};
}

std::optional<double> level_dbfs(const std::vector<float>& samples,
                                 const std::vector<float>* less) {
  double power = 0.0;
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double other = less == nullptr ? 0.0 : static_cast<double>((*less)[i]);
    const double x = static_cast<double>(samples[i]) - other;
    power += x * x;
  }
  return db_of_power(power / static_cast<double>(samples.size()));
}

}  // namespace

Result<FrameRange> frames_of(const audio::SoundFileInfo& info, const Stretch& stretch) {
  if (stretch.channel && (*stretch.channel < 1 || *stretch.channel > info.channels)) {
    return argument("--channel", fmt::format("{} of {} channels", *stretch.channel, info.channels));
  }
  const double rate = info.sample_rate_hz;
  const double length_s = static_cast<double>(info.frames.value()) / rate;
  const double from_s = stretch.from_s.value_or(0.0);
  const double to_s = stretch.to_s.value_or(length_s);
  if (!(from_s >= 0.0) || from_s >= length_s) {
    return argument("--from", fmt::format("{} s in a file of {:.3f} s", from_s, length_s));
  }
  if (!(to_s > from_s)) {
    return argument("--to", fmt::format("{} s is not after {} s", to_s, from_s));
  }
  if (to_s > length_s + 1.0 / rate) {
    return argument("--to", fmt::format("{} s in a file of {:.3f} s", to_s, length_s));
  }
  const auto frame = [&](double seconds) {
    return FrameIndex(std::min<std::int64_t>(std::llround(seconds * rate), info.frames.value()));
  };
  const FrameRange range{frame(from_s), frame(to_s)};
  if (range.empty()) return argument("--to", "no frame between --from and --to");
  return range;
}

Result<dsp::BeatTrack> beats_of_source(FileSource& source, const dsp::BeatHints& hints,
                                       JobControl& job) {
  const double rate = source.info().sample_rate_hz;
  Result<dsp::BeatTrack> track = dsp::track_beats(source, rate, hints, job);
  if (!track) return track;
  const FrameCount offset = source.range().start - FrameIndex(0);
  for (dsp::Beat& beat : track->beats) {
    beat.frame = beat.frame + offset;
    beat.time_s = static_cast<double>(beat.frame.value()) / rate;
  }
  for (dsp::BeatStretch& run : track->stretches) {
    run.range = {run.range.start + offset, run.range.end + offset};
  }
  return track;
}

Result<dsp::BeatTrack> beats_of_file(const std::filesystem::path& file, const Stretch& stretch,
                                     const dsp::BeatHints& hints, JobControl& job) {
  Result<FileSource> source = FileSource::open(file, stretch);
  if (!source) return source.error();
  Result<dsp::BeatTrack> track = beats_of_source(*source, hints, job);
  if (!track) return of_file(track.error(), file);
  return track;
}

Result<FileLoops> loops_of_file(const std::filesystem::path& file, const Stretch& stretch,
                                const dsp::LoopParams& params, JobControl& job) {
  Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(file);
  if (!reader) return reader.error();
  const Result<FrameRange> range = frames_of(reader->info(), stretch);
  if (!range) return of_file(range.error(), file);
  std::vector<int> channels;
  if (stretch.channel) channels.push_back(*stretch.channel);
  const Result<audio::Pcm> material = reader->read(*range, channels);
  if (!material) return of_file(material.error(), file);
  const FrameCount offset = range->start - FrameIndex(0);
  dsp::LoopParams here = params;
  here.origin_s = static_cast<double>(offset.value()) / reader->info().sample_rate_hz;
  Result<dsp::LoopSearch> search = dsp::find_loops(*material, here, job);
  if (!search) return of_file(search.error(), file);
  for (dsp::LoopCandidate& candidate : search->candidates) {
    candidate.loop.range = {candidate.loop.range.start + offset, candidate.loop.range.end + offset};
  }
  return FileLoops{reader->info(), std::move(*search)};
}

Status write_loop(const std::filesystem::path& file, const dsp::LoopSpec& loop,
                  const std::filesystem::path& out) {
  if (Status own = refuse_itself(file, out); !own) return own;
  Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(file);
  if (!reader) return reader.error();
  const FrameRange range =
      dsp::needed_material(loop, reader->info().sample_rate_hz, reader->info().frames);
  Result<audio::Pcm> pcm = reader->read(range);
  if (!pcm) return of_file(pcm.error(), file);
  const FrameCount shift = range.start - FrameIndex(0);
  dsp::LoopSpec local = loop;
  local.range = {loop.range.start - shift, loop.range.end - shift};
  if (const Status blended = dsp::blend_loop(*pcm, local); !blended) {
    return of_file(blended.error(), file);
  }
  for (std::vector<float>& channel : pcm->channels) {
    channel = std::vector<float>(channel.begin() + local.range.start.value(),
                                 channel.begin() + local.range.end.value());
  }
  return audio::write_wav(out, *pcm, audio::WavDepth::s24, frame_range(0, pcm->frames().value()));
}

Status run_clean_chain(std::span<float> samples, double sample_rate_hz,
                       const std::vector<model::CleanStep>& steps) {
  for (const model::CleanStep& step : steps) {
    Status done = ok();
    if (const auto* pass = std::get_if<model::HighPass>(&step)) {
      done = dsp::high_pass(samples, sample_rate_hz, pass->cutoff_hz, pass->order);
    } else if (const auto* notch = std::get_if<model::HumNotch>(&step)) {
      done = dsp::hum_notch(samples, sample_rate_hz, notch->fundamental_hz, notch->harmonics,
                            notch->q);
    }
    if (!done) return done;
  }
  return ok();
}

Result<std::vector<CleanedChannel>> clean_file(const std::filesystem::path& file,
                                               const std::vector<model::CleanStep>& steps,
                                               const std::filesystem::path& out, JobControl& job) {
  if (const Status own = refuse_itself(file, out); !own) return own.error();
  Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(file);
  if (!reader) return reader.error();
  Result<audio::Pcm> pcm = reader->read({FrameIndex(0), FrameIndex(0) + reader->info().frames});
  if (!pcm) return of_file(pcm.error(), file);
  std::vector<CleanedChannel> report;
  for (std::size_t c = 0; c < pcm->channels.size(); ++c) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(file), {}, {}, {}};
    job.progress(static_cast<double>(c) / static_cast<double>(pcm->channels.size()), "cleaning");
    std::vector<float>& channel = pcm->channels[c];
    const std::vector<float> before = channel;
    if (const Status cleaned = run_clean_chain(channel, pcm->sample_rate_hz, steps); !cleaned) {
      return of_file(cleaned.error(), file);
    }
    report.push_back(
        {level_dbfs(before, nullptr), level_dbfs(channel, nullptr), level_dbfs(before, &channel)});
  }
  if (const Status wrote = audio::write_wav(out, *pcm, audio::WavDepth::s24); !wrote) {
    return wrote.error();
  }
  return report;
}

model::Loop loop_in_material(const dsp::LoopSpec& found, FrameIndex start) {
  const FrameCount offset = start - FrameIndex(0);
  model::Loop loop;
  loop.range = {found.range.start + offset, found.range.end + offset};
  loop.crossfade_frames = found.crossfade_frames;
  loop.crossfade_at = found.at_start ? model::CrossfadeAt::start : model::CrossfadeAt::end;
  loop.drift_db = found.drift_db;
  loop.octave_drift_db = found.octave_drift_db;
  return loop;
}

model::Loop loop_in_segment(const dsp::LoopSpec& found, const model::Segment& segment) {
  return loop_in_material(found, segment.range.start);
}

dsp::LoopSpec spec_in_material(const model::Loop& loop, FrameIndex start) {
  const FrameCount shift = start - FrameIndex(0);
  return {{loop.range.start - shift, loop.range.end - shift},
          loop.crossfade_frames,
          loop.crossfade_at == model::CrossfadeAt::start,
          loop.drift_db,
          loop.octave_drift_db};
}

}  // namespace fourbeat::work
