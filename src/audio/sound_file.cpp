// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/sound_file.h"

#include "container_check.h"
#include "input_file.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>
#include <sndfile.h>

#include <numeric>

namespace fourbeat::audio {

namespace {

constexpr std::int64_t piece_frames = 4096;
constexpr int max_rate_hz = 768000;
constexpr int max_channels = 1024;

struct CloseFile {
  void operator()(SNDFILE* file) const { sf_close(file); }
};
using Handle = std::unique_ptr<SNDFILE, CloseFile>;

std::string container_name(const ContainerFacts& facts) {
  switch (facts.kind) {
    case Container::wav:
      return facts.has_broadcast_chunk ? "BWF" : "WAV";
    case Container::rf64:
      return "RF64";
    case Container::w64:
      return "W64";
    case Container::flac:
      return "FLAC";
    case Container::aiff:
      return "AIFF";
    case Container::caf:
      return "CAF";
    case Container::ogg:
      break;
  }
  return "Ogg";
}

sf_count_t input_size(void* user) {
  return static_cast<InputFile*>(user)->size_bytes();
}
sf_count_t input_seek(sf_count_t offset, int whence, void* user) {
  auto* file = static_cast<InputFile*>(user);
  if (whence == SEEK_CUR) offset += file->position();
  if (whence == SEEK_END) offset += file->size_bytes();
  if (offset < 0) return -1;
  file->seek(offset);
  return offset;
}
sf_count_t input_read(void* into, sf_count_t count, void* user) {
  if (count <= 0) return 0;
  return static_cast<sf_count_t>(static_cast<InputFile*>(user)->read(
      {static_cast<unsigned char*>(into), static_cast<std::size_t>(count)}));
}
sf_count_t input_write(const void*, sf_count_t, void*) {
  return 0;
}
sf_count_t input_tell(void* user) {
  return static_cast<InputFile*>(user)->position();
}

/// The loops that lie inside the sound; libsndfile hands the file's inclusive end out as it is
/// stored plus one, which is our half-open end.
std::vector<FrameRange> loops_of(SNDFILE* file, std::int64_t frames) {
  std::vector<FrameRange> loops;
  SF_INSTRUMENT instrument{};
  if (sf_command(file, SFC_GET_INSTRUMENT, &instrument, sizeof(instrument)) != SF_TRUE)
    return loops;
  for (const auto& stored :
       std::span(instrument.loops)
           .first(static_cast<std::size_t>(std::clamp(instrument.loop_count, 0, 16)))) {
    const FrameRange loop = frame_range(stored.start, stored.end);
    if (!loop.empty() && frame_range(0, frames).contains(loop)) loops.push_back(loop);
  }
  return loops;
}

std::string encoding_name(int format) {
  switch (format & SF_FORMAT_SUBMASK) {
    case SF_FORMAT_PCM_S8:
    case SF_FORMAT_PCM_U8:
      return "8-bit PCM";
    case SF_FORMAT_PCM_16:
      return "16-bit PCM";
    case SF_FORMAT_PCM_24:
      return "24-bit PCM";
    case SF_FORMAT_PCM_32:
      return "32-bit PCM";
    case SF_FORMAT_FLOAT:
      return "float";
    case SF_FORMAT_DOUBLE:
      return "double";
    case SF_FORMAT_VORBIS:
      return "Vorbis";
    case SF_FORMAT_OPUS:
      return "Opus";
    default:
      return "compressed";
  }
}

/// Integer samples are finite by nature; all others are looked at.
bool may_hold_nan(int format) {
  const int encoding = format & SF_FORMAT_SUBMASK;
  return encoding != SF_FORMAT_PCM_S8 && encoding != SF_FORMAT_PCM_U8 &&
         encoding != SF_FORMAT_PCM_16 && encoding != SF_FORMAT_PCM_24 &&
         encoding != SF_FORMAT_PCM_32;
}

}  // namespace

struct SoundFileReader::State {
  State(std::filesystem::path named, InputFile opened)
      : path(std::move(named)), input(std::move(opened)) {}

  std::filesystem::path path;
  InputFile input;
  Handle file;  // closed before its input
  SoundFileInfo info;
  bool look_for_nan = false;
  std::int64_t position = 0;
  std::vector<float> interleaved;

  [[nodiscard]] Error error(ErrorCode code, std::string place, std::string detail) const {
    return Error{code, path_text(path), std::move(place), std::move(detail), {}};
  }

  Status seek(std::int64_t frame) {
    if (frame == position) return ok();
    if (sf_seek(file.get(), frame, SEEK_SET) != frame) {
      position = -1;
      return error(ErrorCode::truncated, fmt::format("frame {}", frame), "cannot be reached");
    }
    position = frame;
    return ok();
  }

  /// `frames` frames from the present place into `block`, which has room; `picked` from 0.
  Status fill(Pcm& block, std::span<const std::size_t> picked, std::int64_t frames) {
    const auto width = static_cast<std::size_t>(info.channels);
    interleaved.resize(static_cast<std::size_t>(piece_frames) * width);
    std::int64_t done = 0;
    while (done < frames) {
      const std::int64_t want = std::min(piece_frames, frames - done);
      const std::int64_t got = sf_readf_float(file.get(), interleaved.data(), want);
      if (got != want) {
        const std::int64_t at = position + std::max<std::int64_t>(got, 0);
        position = -1;
        return error(input.failed() ? ErrorCode::io_failed : ErrorCode::truncated,
                     fmt::format("frame {}", at),
                     fmt::format("{} frames promised", info.frames.value()));
      }
      const std::span<const float> samples(interleaved.data(),
                                           static_cast<std::size_t>(got) * width);
      if (look_for_nan) {
        const auto bad =
            std::find_if(samples.begin(), samples.end(), [](float x) { return !std::isfinite(x); });
        if (bad != samples.end()) {
          const auto offset = static_cast<std::size_t>(bad - samples.begin());
          const auto frame = position + static_cast<std::int64_t>(offset / width);
          position += got;
          return error(ErrorCode::not_finite, fmt::format("frame {}", frame),
                       fmt::format("channel {}", offset % width + 1));
        }
      }
      for (std::size_t i = 0; i < picked.size(); ++i) {
        float* to = block.channels[i].data() + done;
        const float* from = samples.data() + picked[i];
        for (std::int64_t n = 0; n < got; ++n, from += width)
          to[n] = *from;
      }
      position += got;
      done += got;
    }
    return ok();
  }

  [[nodiscard]] Status check_range(const FrameRange& range) const {
    if (range.start.value() >= 0 && range.start <= range.end &&
        range.end.value() <= info.frames.value())
      return ok();
    return error(ErrorCode::bad_argument,
                 fmt::format("frames {} to {}", range.start.value(), range.end.value()),
                 fmt::format("the file has {}", info.frames.value()));
  }
};

SoundFileReader::SoundFileReader(std::unique_ptr<State> state) : state_(std::move(state)) {}
SoundFileReader::SoundFileReader(SoundFileReader&&) noexcept = default;
SoundFileReader& SoundFileReader::operator=(SoundFileReader&&) noexcept = default;
SoundFileReader::~SoundFileReader() = default;

const SoundFileInfo& SoundFileReader::info() const {
  return state_->info;
}

Result<SoundFileReader> SoundFileReader::open(const std::filesystem::path& path) {
  auto input = InputFile::open(path);
  if (!input) return input.error();
  auto state = std::make_unique<State>(path, *std::move(input));
  auto facts = check_container(state->input);
  if (!facts) {
    Error error = facts.error();
    error.file = path_text(path);
    return error;
  }
  state->input.set_view(std::move(facts->patches), facts->size_bytes);
  state->input.seek(0);
  SF_VIRTUAL_IO view{input_size, input_seek, input_read, input_write, input_tell};
  SF_INFO said{};
  state->file.reset(sf_open_virtual(&view, SFM_READ, &said, &state->input));
  if (!state->file) {
    const int number = sf_error(nullptr);
    const bool foreign =
        number == SF_ERR_UNRECOGNISED_FORMAT || number == SF_ERR_UNSUPPORTED_ENCODING;
    const ErrorCode code = state->input.failed() ? ErrorCode::io_failed
                           : foreign             ? ErrorCode::not_audio
                                                 : ErrorCode::bad_input;
    return state->error(code, {}, printable(sf_error_number(number)));
  }
  if (said.samplerate < 1 || said.samplerate > max_rate_hz || said.channels < 1 ||
      said.channels > max_channels) {
    return state->error(ErrorCode::bad_input, "header",
                        fmt::format("{} Hz, {} channels; 1 to {} Hz and 1 to {} channels are read",
                                    said.samplerate, said.channels, max_rate_hz, max_channels));
  }
  if (said.frames <= 0) return state->error(ErrorCode::too_short, {}, "it has no frame");
  if (said.seekable == 0 || said.frames == SF_COUNT_MAX)
    return state->error(ErrorCode::truncated, "header", "its length was never written");

  state->info.sample_rate_hz = said.samplerate;
  state->info.channels = said.channels;
  state->info.frames = FrameCount(said.frames);
  state->info.format = container_name(*facts) + " " + encoding_name(said.format);
  if (facts->kind == Container::wav) state->info.loops = loops_of(state->file.get(), said.frames);
  state->look_for_nan = may_hold_nan(said.format);

  // The last frame must be there: a cut file of a packed format shows it only now.
  if (Status last = state->seek(said.frames - 1); !last) return last.error();
  std::vector<float> frame(static_cast<std::size_t>(said.channels));
  if (sf_readf_float(state->file.get(), frame.data(), 1) != 1) {
    return state->error(ErrorCode::truncated, fmt::format("frame {}", said.frames - 1),
                        fmt::format("{} frames promised", said.frames));
  }
  state->position = said.frames;
  return SoundFileReader(std::move(state));
}

Result<Pcm> SoundFileReader::read(FrameRange range, std::span<const int> channels) {
  if (Status fits = state_->check_range(range); !fits) return fits.error();
  std::vector<std::size_t> picked;
  for (const int channel : channels) {
    if (channel < 1 || channel > state_->info.channels) {
      return state_->error(ErrorCode::bad_argument, fmt::format("channel {}", channel),
                           fmt::format("the file has {}, counted from 1", state_->info.channels));
    }
    picked.push_back(static_cast<std::size_t>(channel - 1));
  }
  if (channels.empty()) {
    picked.resize(static_cast<std::size_t>(state_->info.channels));
    std::iota(picked.begin(), picked.end(), std::size_t{0});
  }
  Pcm pcm;
  pcm.sample_rate_hz = state_->info.sample_rate_hz;
  const auto frames = static_cast<std::size_t>(range.length().value());
  pcm.channels.assign(picked.size(), std::vector<float>(frames));
  if (range.empty()) return pcm;
  if (Status there = state_->seek(range.start.value()); !there) return there.error();
  if (Status filled = state_->fill(pcm, picked, range.length().value()); !filled)
    return filled.error();
  return pcm;
}

Status SoundFileReader::read_blocks(FrameRange range, FrameCount block_frames,
                                    const BlockSink& sink, JobControl& job) {
  if (Status fits = state_->check_range(range); !fits) return fits.error();
  if (block_frames.value() < 1)
    return state_->error(ErrorCode::bad_argument, {}, "blocks need at least one frame");
  std::vector<std::size_t> picked(static_cast<std::size_t>(state_->info.channels));
  std::iota(picked.begin(), picked.end(), std::size_t{0});
  Pcm block;
  block.sample_rate_hz = state_->info.sample_rate_hz;
  block.channels.resize(picked.size());
  for (FrameIndex at = range.start; at < range.end;) {
    if (job.cancelled()) return state_->error(ErrorCode::cancelled, {}, {});
    const FrameCount frames = std::min(block_frames, range.end - at);
    for (std::vector<float>& channel : block.channels)
      channel.resize(static_cast<std::size_t>(frames.value()));
    if (Status there = state_->seek(at.value()); !there) return there.error();
    if (Status filled = state_->fill(block, picked, frames.value()); !filled) return filled.error();
    if (Status taken = sink(block, at); !taken) return taken.error();
    at = at + frames;
    job.progress(static_cast<double>((at - range.start).value()) /
                     static_cast<double>(range.length().value()),
                 "reading");
  }
  return ok();
}

}  // namespace fourbeat::audio
