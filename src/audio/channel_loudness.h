// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <memory>
#include <optional>

namespace fourbeat::audio {

/// Integrated loudness and true peak of one channel alone, by libebur128: the figures of a
/// LoudnessMeter of one channel, without those that a take report does not need. True peak is only
/// computed where it may exceed what was found. Memory: 16 bytes and their bookkeeping for each
/// 100 ms of sound over the absolute gate.
class ChannelLoudness {
 public:
  /// Errors: bad_argument, internal.
  [[nodiscard]] static Result<ChannelLoudness> make(double sample_rate_hz);
  ChannelLoudness(ChannelLoudness&&) noexcept;
  ChannelLoudness& operator=(ChannelLoudness&&) noexcept;
  ~ChannelLoudness();
  /// Errors: internal (no memory).
  [[nodiscard]] Status add(MonoView block);
  [[nodiscard]] std::optional<double> integrated_lufs() const;
  [[nodiscard]] std::optional<double> true_peak_dbtp() const;

 private:
  struct State;
  explicit ChannelLoudness(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::audio
