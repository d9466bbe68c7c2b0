// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/sound_file.h"

#include <cstdint>
#include <functional>
#include <memory>
#include <string_view>

namespace fourbeat::audio {

/// Bytes that go to a place in an output; the header is written again at the end.
using ByteSink = std::function<Status(std::int64_t offset, std::string_view bytes)>;

/// Turns blocks of samples into a WAV, or into an RF64 when `rf64_if_needed` and it grows over
/// 4 GiB. The one place where samples become a WAV's numbers.
class WavEncoder {
 public:
  /// Errors: bad_argument (rate not a whole number of 1 … 768 000 Hz, channels outside 1 … 1024,
  /// an empty loop), whatever the sink says.
  [[nodiscard]] static Result<WavEncoder> make(double sample_rate_hz, std::size_t channels,
                                               WavDepth depth, bool rf64_if_needed,
                                               std::optional<FrameRange> loop, ByteSink sink);
  WavEncoder(WavEncoder&&) noexcept;
  WavEncoder& operator=(WavEncoder&&) noexcept;
  ~WavEncoder();

  /// Errors: bad_argument (other rate or channel count, channels of unequal length), not_finite
  /// (place: the frame in the whole output), too_large, whatever the sink says.
  [[nodiscard]] Status add(const Pcm& block);
  /// Writes the final header. Nothing may be added after.
  [[nodiscard]] Status finish();

 private:
  struct State;
  explicit WavEncoder(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::audio
