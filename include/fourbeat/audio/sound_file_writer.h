// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/sound_file.h"

#include <filesystem>
#include <memory>
#include <optional>

namespace fourbeat::audio {

/// Writes a sound of any length by blocks. The samples go to a temporary file beside `path`,
/// which takes the name at finish(); without finish() nothing is left and an older file stays.
/// A WAV, or an RF64 (EBU Tech 3306) once it grows over 4 GiB; with a loop always a WAV, since
/// RF64 would lose it. Numbers as wav_bytes() makes them. Move-only; one thread at a time.
class SoundFileWriter {
 public:
  /// Errors: bad_argument (rate not whole or outside 1 Hz … 768 kHz, channels outside 1 … 1024,
  /// an empty loop), not_a_file, not_found (folder), no_space, io_failed.
  [[nodiscard]] static Result<SoundFileWriter> create(
      const std::filesystem::path& path, double sample_rate_hz, int channels, WavDepth depth,
      std::optional<FrameRange> loop = std::nullopt);
  SoundFileWriter(SoundFileWriter&&) noexcept;
  SoundFileWriter& operator=(SoundFileWriter&&) noexcept;
  ~SoundFileWriter();

  /// Errors: bad_argument (other rate or channels, unequal lengths), not_finite (place: the frame
  /// of the whole), too_large, no_space, io_failed. After an error only destruction is left.
  [[nodiscard]] Status add(const Pcm& block);
  /// Completes the file and gives it its name; nothing may be called after.
  /// Errors: bad_argument (the loop leaves the sound; an earlier add() failed), no_space,
  /// io_failed.
  [[nodiscard]] Status finish();

 private:
  struct State;
  explicit SoundFileWriter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::audio
