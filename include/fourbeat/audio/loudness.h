// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <memory>
#include <optional>

namespace fourbeat::audio {

/// Loudness and true peak after ITU-R BS.1770, by libebur128. Absent where there is no figure:
/// silence, all under the absolute gate, or too short for the window (400 ms, 3 s).
struct Loudness {
  std::optional<double> integrated_lufs;
  std::optional<double> max_momentary_lufs;   ///< 400 ms windows every 100 ms
  std::optional<double> max_short_term_lufs;  ///< 3 s windows every 100 ms
  std::optional<double> range_lu;             ///< EBU Tech 3342
  std::optional<double> true_peak_dbtp;       ///< the highest of all channels
};

/// How much each channel counts.
enum class ChannelWeights {
  all_front,    ///< each 1.0: channels of a field take are microphones, not loudspeakers
  surround_5_0  ///< L, R, C 1.0, Ls, Rs 1.41 (BS.1770 Table 3); five channels
};

/// Fed by blocks, all channels of one programme (1 channel: mono counted once).
class LoudnessMeter {
 public:
  /// channels 1 … 64; rate 16 Hz … 2.8 MHz, taken to the nearest whole Hz. Errors: bad_argument.
  [[nodiscard]] static Result<LoudnessMeter> make(
      int channels, double sample_rate_hz, ChannelWeights weights = ChannelWeights::all_front);
  LoudnessMeter(LoudnessMeter&&) noexcept;
  LoudnessMeter& operator=(LoudnessMeter&&) noexcept;
  ~LoudnessMeter();
  /// Blocks of any length; how they are cut does not change the figures.
  /// Errors: bad_argument (other channel count, channels of unequal length), not_finite.
  [[nodiscard]] Status add(const Pcm& block);
  [[nodiscard]] Loudness figures() const;

 private:
  struct State;
  explicit LoudnessMeter(std::unique_ptr<State> state);
  std::unique_ptr<State> state_;
};

/// K-weighted energy level of a short event in dB: 10 log10 of the mean square after the
/// K-weighting of BS.1770 Annex 1, times the event's seconds, less 0.691: an energy, since gating
/// needs 400 ms blocks. Nothing for silence, no samples, samples that are not finite, or a rate
/// outside 100 Hz … 1 MHz.
[[nodiscard]] std::optional<double> k_weighted_energy_db(MonoView samples, double sample_rate_hz);

}  // namespace fourbeat::audio
