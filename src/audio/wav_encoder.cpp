// SPDX-License-Identifier: GPL-3.0-or-later
#include "wav_encoder.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::audio {

namespace {

constexpr std::size_t write_step_frames = 1U << 14U;
constexpr int max_channels = 1024;
constexpr int max_rate_hz = 768'000;
/// A WAV counts its bytes in 32 bits; the rest is for its header.
constexpr std::int64_t max_wav_sound_bytes = 0xFFFFFFFFLL - 4096;

int bits_of(WavDepth depth) {
  switch (depth) {
    case WavDepth::u8:
      return 8;
    case WavDepth::s16:
      return 16;
    case WavDepth::s24:
      return 24;
    case WavDepth::f32:
      break;
  }
  return 32;
}

int subtype_of(WavDepth depth) {
  switch (depth) {
    case WavDepth::u8:
      return SF_FORMAT_PCM_U8;
    case WavDepth::s16:
      return SF_FORMAT_PCM_16;
    case WavDepth::s24:
      return SF_FORMAT_PCM_24;
    case WavDepth::f32:
      break;
  }
  return SF_FORMAT_FLOAT;
}

/// round(x × 2^(bits-1)), clamped, in the upper bits of 32.
std::int32_t quantised(float sample, int bits) {
  const double scale = std::ldexp(1.0, bits - 1);
  const double rounded =
      std::clamp(std::round(static_cast<double>(sample) * scale), -scale, scale - 1.0);
  return static_cast<std::int32_t>(static_cast<std::int64_t>(rounded) *
                                   (std::int64_t{1} << (32 - bits)));
}

struct CloseSound {
  void operator()(SNDFILE* sound) const { sf_close(sound); }
};

/// What libsndfile writes to.
struct Output {
  ByteSink sink;
  std::int64_t size_bytes = 0;
  std::int64_t position = 0;
  Status status = ok();
};

sf_count_t output_size(void* user) {
  return static_cast<Output*>(user)->size_bytes;
}

sf_count_t output_seek(sf_count_t offset, int whence, void* user) {
  auto* output = static_cast<Output*>(user);
  const std::int64_t from = whence == SEEK_CUR   ? output->position
                            : whence == SEEK_END ? output->size_bytes
                                                 : 0;
  output->position = from + offset;
  return output->position;
}

sf_count_t output_read(void*, sf_count_t, void*) {
  return 0;
}

sf_count_t output_write(const void* bytes, sf_count_t count, void* user) {
  auto* output = static_cast<Output*>(user);
  if (!output->status || count <= 0 || output->position < 0) return 0;
  output->status = output->sink(output->position,
                                {static_cast<const char*>(bytes), static_cast<std::size_t>(count)});
  if (!output->status) return 0;
  output->position += count;
  output->size_bytes = std::max(output->size_bytes, output->position);
  return count;
}

sf_count_t output_tell(void* user) {
  return static_cast<Output*>(user)->position;
}

}  // namespace

struct WavEncoder::State {
  Output output;
  std::unique_ptr<SNDFILE, CloseSound> sound;  // closed before its output
  double sample_rate_hz = 0.0;
  std::size_t channels = 0;
  WavDepth depth = WavDepth::s16;
  bool rf64_if_needed = false;
  std::int64_t frames = 0;
  std::vector<std::int32_t> numbers;
  std::vector<float> floats;

  [[nodiscard]] Status written(bool complete) const {
    if (!output.status) return output.status;
    if (complete) return ok();
    return Error{ErrorCode::io_failed, {}, {}, printable(sf_strerror(sound.get())), {}};
  }
};

WavEncoder::WavEncoder(std::unique_ptr<State> state) : state_(std::move(state)) {}
WavEncoder::WavEncoder(WavEncoder&&) noexcept = default;
WavEncoder& WavEncoder::operator=(WavEncoder&&) noexcept = default;
WavEncoder::~WavEncoder() = default;

Result<WavEncoder> WavEncoder::make(double sample_rate_hz, std::size_t channels, WavDepth depth,
                                    bool rf64_if_needed, std::optional<FrameRange> loop,
                                    ByteSink sink) {
  if (!(sample_rate_hz >= 1.0 && sample_rate_hz <= max_rate_hz) ||
      sample_rate_hz != std::floor(sample_rate_hz)) {
    return Error{
        ErrorCode::bad_argument,
        {},
        "sample rate",
        fmt::format("{} Hz; a WAV has a whole number from 1 to {}", sample_rate_hz, max_rate_hz),
        {}};
  }
  if (channels < 1 || channels > max_channels) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "channels",
                 fmt::format("{}; 1 to {} are written", channels, max_channels),
                 {}};
  }
  if (loop && (loop->empty() || loop->start.value() < 0 || loop->end.value() > 0xFFFFFFFFLL)) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "loop",
                 fmt::format("frames {} to {}", loop->start.value(), loop->end.value()),
                 {}};
  }
  auto state = std::make_unique<State>();
  state->output.sink = std::move(sink);
  state->sample_rate_hz = sample_rate_hz;
  state->channels = channels;
  state->depth = depth;
  state->rf64_if_needed = rf64_if_needed;
  SF_INFO info{};
  info.samplerate = static_cast<int>(sample_rate_hz);
  info.channels = static_cast<int>(channels);
  info.format = (rf64_if_needed ? SF_FORMAT_RF64 : SF_FORMAT_WAV) | subtype_of(depth);
  SF_VIRTUAL_IO view{output_size, output_seek, output_read, output_write, output_tell};
  state->sound.reset(sf_open_virtual(&view, SFM_WRITE, &info, &state->output));
  if (!state->sound) {
    if (!state->output.status) return state->output.status.error();
    return Error{ErrorCode::internal, {}, {}, printable(sf_strerror(nullptr)), {}};
  }
  // The peak chunk would carry the time of day.
  sf_command(state->sound.get(), SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
  if (rf64_if_needed) {
    sf_command(state->sound.get(), SFC_RF64_AUTO_DOWNGRADE, nullptr, SF_TRUE);
  }
  if (loop) {
    SF_INSTRUMENT instrument{};
    instrument.gain = 1;
    instrument.basenote = 60;
    instrument.velocity_hi = 127;
    instrument.key_hi = 127;
    instrument.loop_count = 1;
    instrument.loops[0].mode = SF_LOOP_FORWARD;
    instrument.loops[0].start = static_cast<std::uint32_t>(loop->start.value());
    // libsndfile's end is exclusive, as ours; it writes the file's inclusive one.
    instrument.loops[0].end = static_cast<std::uint32_t>(loop->end.value());
    if (sf_command(state->sound.get(), SFC_SET_INSTRUMENT, &instrument, sizeof(instrument)) !=
        SF_TRUE) {
      return Error{ErrorCode::internal, {}, "loop", "the smpl chunk was refused", {}};
    }
  }
  return WavEncoder(std::move(state));
}

Status WavEncoder::add(const Pcm& block) {
  State& state = *state_;
  if (block.channels.size() != state.channels || block.sample_rate_hz != state.sample_rate_hz) {
    return Error{
        ErrorCode::bad_argument,
        {},
        {},
        fmt::format("a block of {} channels at {} Hz in a file of {} at {}", block.channels.size(),
                    block.sample_rate_hz, state.channels, state.sample_rate_hz),
        {}};
  }
  const std::size_t total = block.channels.front().size();
  for (const std::vector<float>& channel : block.channels) {
    if (channel.size() != total) {
      return Error{ErrorCode::bad_argument, {}, {}, "channels of unequal length", {}};
    }
  }
  const int bits = bits_of(state.depth);
  const std::int64_t frame_bytes = static_cast<std::int64_t>(state.channels) * (bits / 8);
  if (!state.rf64_if_needed &&
      static_cast<std::int64_t>(total) > max_wav_sound_bytes / frame_bytes - state.frames) {
    return Error{ErrorCode::too_large,
                 {},
                 {},
                 fmt::format("{} frames of {} bytes; a WAV holds up to 4 GiB",
                             state.frames + static_cast<std::int64_t>(total), frame_bytes),
                 {}};
  }
  for (std::size_t done = 0; done < total;) {
    const std::size_t step = std::min(write_step_frames, total - done);
    const std::size_t count = step * state.channels;
    (state.depth == WavDepth::f32) ? state.floats.resize(count) : state.numbers.resize(count);
    for (std::size_t c = 0; c < state.channels; ++c) {
      const float* from = block.channels[c].data() + done;
      for (std::size_t i = 0; i < step; ++i) {
        if (!std::isfinite(from[i])) {
          return Error{ErrorCode::not_finite,
                       {},
                       fmt::format("frame {}", state.frames + static_cast<std::int64_t>(i)),
                       fmt::format("channel {}", c + 1),
                       {}};
        }
        if (state.depth == WavDepth::f32) {
          state.floats[i * state.channels + c] = from[i];
        } else {
          state.numbers[i * state.channels + c] = quantised(from[i], bits);
        }
      }
    }
    const auto frames = static_cast<sf_count_t>(step);
    const sf_count_t wrote = state.depth == WavDepth::f32
                                 ? sf_writef_float(state.sound.get(), state.floats.data(), frames)
                                 : sf_writef_int(state.sound.get(), state.numbers.data(), frames);
    if (Status fine = state.written(wrote == frames); !fine) return fine;
    state.frames += frames;
    done += step;
  }
  return ok();
}

Status WavEncoder::finish() {
  const int failed = sf_close(state_->sound.release());
  if (!state_->output.status) return state_->output.status;
  if (failed != 0) return Error{ErrorCode::io_failed, {}, {}, sf_error_number(failed), {}};
  return ok();
}

}  // namespace fourbeat::audio
