// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <cstdint>
#include <memory>

namespace fourbeat::audio {

/// True peak of one channel after ITU-R BS.1770 Annex 2, by libebur128, and where it is: four times
/// oversampled below 96 kHz, twice below 192 kHz. Only computed where it may exceed what was found.
class TruePeakMeter {
 public:
  /// rate 1 Hz … 1 MHz, taken to the nearest whole Hz. Errors: bad_argument, internal.
  [[nodiscard]] static Result<TruePeakMeter> make(double sample_rate_hz);
  TruePeakMeter(TruePeakMeter&&) noexcept;
  TruePeakMeter& operator=(TruePeakMeter&&) noexcept;
  ~TruePeakMeter();
  /// Blocks of any length; how they are cut does not change the peak. Errors: internal (no memory).
  [[nodiscard]] Status add(MonoView block);
  /// The largest magnitude so far, 1 for full scale.
  [[nodiscard]] double peak() const;
  /// The frame of the largest sample near it, at most 1024 frames away.
  [[nodiscard]] std::int64_t frame() const;

 private:
  struct State;
  explicit TruePeakMeter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::audio
