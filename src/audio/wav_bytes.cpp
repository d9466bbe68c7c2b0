// SPDX-License-Identifier: GPL-3.0-or-later
#include "wav_encoder.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

#include <fmt/format.h>

namespace fourbeat::audio {

Result<std::string> wav_bytes(const Pcm& pcm, WavDepth depth, std::optional<FrameRange> loop) {
  if (loop && loop->end.value() > pcm.frames().value()) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "loop",
                 fmt::format("frames {} to {} of {}", loop->start.value(), loop->end.value(),
                             pcm.frames().value()),
                 {}};
  }
  std::string bytes;
  const auto keep = [&bytes](std::int64_t offset, std::string_view piece) {
    const auto at = static_cast<std::size_t>(offset);
    if (bytes.size() < at + piece.size()) bytes.resize(at + piece.size());
    std::copy(piece.begin(), piece.end(), bytes.begin() + offset);
    return ok();
  };
  Result<WavEncoder> encoder =
      WavEncoder::make(pcm.sample_rate_hz, pcm.channels.size(), depth, false, loop, keep);
  if (!encoder) return encoder.error();
  if (Status added = encoder->add(pcm); !added) return added.error();
  if (Status finished = encoder->finish(); !finished) return finished.error();
  return bytes;
}

Result<std::string> wav_bytes(const Clip& clip) {
  if (clip.bits < 1 || clip.bits > 32) {
    return Error{ErrorCode::bad_argument, {}, "bits", fmt::format("{}; 1 to 32", clip.bits), {}};
  }
  const WavDepth depth = clip.bits <= 8    ? WavDepth::u8
                         : clip.bits <= 16 ? WavDepth::s16
                         : clip.bits <= 24 ? WavDepth::s24
                                           : WavDepth::f32;
  return wav_bytes(Pcm{clip.sample_rate_hz, {clip.samples}}, depth, clip.loop);
}

Status write_wav(const std::filesystem::path& path, const Pcm& pcm, WavDepth depth,
                 std::optional<FrameRange> loop) {
  Result<std::string> bytes = wav_bytes(pcm, depth, loop);
  if (!bytes) {
    Error error = bytes.error();
    error.file = path_text(path);
    return error;
  }
  return write_file_atomically(path, *bytes);
}

}  // namespace fourbeat::audio
