// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_path.h"
#include "beat_proof.h"
#include "pump_signs.h"

#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Beats of a stretch between two jumps of the rate, by an octave or nearly, that no train makes: a
/// pump is followed now stroke by stroke, now by whole strokes.
struct StretchPart {
  std::size_t stretch = 0;
  std::span<const PathBeat> beats;
  double rate_hz = 0.0;  ///< median
  PumpSigns signs;
  bool suspect = false;  ///< a pump may have made it
  bool pump = false;     ///< one did
  double odds = 0.0;     ///< of that, in nats, where suspect

  /// Whether it has a pump's pace.
  [[nodiscard]] bool may_be_pump() const;
};

/// The parts of the stretches, in order, each with what it says by itself.
[[nodiscard]] std::vector<StretchPart> parts_of(std::span<const ProvedStretch> stretches,
                                                std::span<const Candidate> candidates,
                                                std::span<const PathBeat> path);

/// Paces over every four intervals, an even number, so that the ends of a stroke weigh the same; of
/// fewer beats, the path's.
[[nodiscard]] std::vector<double> paces_of(std::span<const PathBeat> beats,
                                           std::span<const Candidate> candidates);

/// Whether paces, but for a tenth at either end, are such as a pump has.
[[nodiscard]] bool has_pump_paces(std::span<const double> paces_hz);

/// Whether two paces may be those of one run of a pump, and whether they may be one pump's, by
/// single or by whole strokes.
[[nodiscard]] bool near_pace(double rate_hz, double other_hz);
[[nodiscard]] bool same_pump(double rate_hz, double other_hz);

/// A ratio of paces, those by single and by whole strokes taken as one.
[[nodiscard]] double folded(double ratio);

/// Mean interval over `intervals` of them from beat `first` on.
[[nodiscard]] double mean_interval_s(std::span<const PathBeat> beats,
                                     std::span<const Candidate> candidates, std::size_t first,
                                     std::size_t intervals);

/// The value under which `tenths` of them lie; at least one.
[[nodiscard]] double quantile(std::vector<double> values, std::size_t tenths);

}  // namespace fourbeat::dsp
