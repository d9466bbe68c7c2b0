// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <memory>
#include <optional>

namespace fourbeat::audio {

/// Loudness and true peak after ITU-R BS.1770, by libebur128. Absent where there is no figure
/// (silence, or too short for a 400 ms gating block).
struct Loudness {
  std::optional<double> integrated_lufs;
  std::optional<double> max_momentary_lufs;
  std::optional<double> max_short_term_lufs;
  std::optional<double> range_lu;
  std::optional<double> true_peak_dbtp;
};

/// Fed by blocks, all channels of one programme (1 channel: mono counted once).
class LoudnessMeter {
 public:
  /// channels 1 … 64, any rate libebur128 takes. Errors: bad_argument.
  [[nodiscard]] static Result<LoudnessMeter> make(int channels, double sample_rate_hz);
  LoudnessMeter(LoudnessMeter&&) noexcept;
  LoudnessMeter& operator=(LoudnessMeter&&) noexcept;
  ~LoudnessMeter();
  /// Errors: bad_argument (other channel count).
  [[nodiscard]] Status add(const Pcm& block);
  [[nodiscard]] Loudness figures() const;

 private:
  struct State;
  explicit LoudnessMeter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

/// K-weighted energy level of a short event in dB: 10 log10 of the mean square after the
/// K-weighting of BS.1770 Annex 1, times the event's seconds, less 0.691: an energy, since gating
/// needs 400 ms blocks. Nothing for silence.
[[nodiscard]] std::optional<double> k_weighted_energy_db(MonoView samples, double sample_rate_hz);

}  // namespace fourbeat::audio
