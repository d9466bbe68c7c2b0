// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace fourbeat::audio {

/// What a sound file's header says, checked against the file's size.
struct SoundFileInfo {
  int sample_rate_hz = 0;
  int channels = 0;
  FrameCount frames;
  std::string format;             ///< e.g. "WAV 24-bit PCM", "RF64 float", "FLAC 16-bit PCM"
  std::vector<FrameRange> loops;  ///< `smpl` loops of a WAV, half-open here
};

/// Reads one take or bundle sound, by blocks; never writes. Move-only; one thread at a time.
class SoundFileReader {
 public:
  /// Opens a regular file of any format of libsndfile that Fourbeat lists (WAV, BWF, RF64, W64,
  /// FLAC, AIFF, CAF, Ogg). Size and header are checked before the parser sees them.
  /// Errors: not_found, not_a_file, not_audio, truncated (the header promises more than the file
  /// holds), too_short (no frame), bad_input (rate or channels outside 1 Hz … 768 kHz, 1 … 1024).
  [[nodiscard]] static Result<SoundFileReader> open(const std::filesystem::path& path);

  SoundFileReader(SoundFileReader&&) noexcept;
  SoundFileReader& operator=(SoundFileReader&&) noexcept;
  ~SoundFileReader();

  [[nodiscard]] const SoundFileInfo& info() const;

  /// The frames of `range`, which must lie inside the file, of the given channels (from 1; empty:
  /// all). Errors: bad_argument, truncated, not_finite (place: the frame), io_failed.
  [[nodiscard]] Result<Pcm> read(FrameRange range, std::span<const int> channels = {});

  /// Takes one block and where it starts; an error stops the reading and is passed on.
  using BlockSink = std::function<Status(const Pcm& block, FrameIndex at)>;
  /// Streams `range` in blocks of at most `block_frames`, all channels. Memory: one block.
  [[nodiscard]] Status read_blocks(FrameRange range, FrameCount block_frames, const BlockSink& sink,
                                   JobControl& job);

 private:
  struct State;
  explicit SoundFileReader(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

/// Sample format of a WAV written here.
enum class WavDepth { u8, s16, s24, f32 };

/// A WAV file's bytes: PCM of 8, 16 or 24 bits or float. A sample x becomes
/// round(x × 2^(bits-1)), clamped; no dither here. `loop`, half-open, is written as a `smpl` chunk
/// (endless forward loop; the inclusive end is converted here and nowhere else).
/// Plain WAV only: over 4 GiB is refused (too_large). No clock, host or user gets in.
[[nodiscard]] Result<std::string> wav_bytes(const Pcm& pcm, WavDepth depth,
                                            std::optional<FrameRange> loop = std::nullopt);

/// As above for one mono piece, at its own depth (up to 8 bits → u8, 16 → s16, 24 → s24, 32 → f32).
[[nodiscard]] Result<std::string> wav_bytes(const Clip& clip);

/// wav_bytes() to a file, atomically.
[[nodiscard]] Status write_wav(const std::filesystem::path& path, const Pcm& pcm, WavDepth depth,
                               std::optional<FrameRange> loop = std::nullopt);

}  // namespace fourbeat::audio
