// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/true_peak.h"
#include "fourbeat/drive/drive.h"
#include "fourbeat/drive/engine.h"

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::drive {

/// The same part of every stem that is wanted.
[[nodiscard]] StemSpans part_of(const StemSpans& stems, std::size_t at, std::size_t count);

/// Where the samples of a drive go: into its output, or, where they are not kept, into one second
/// that is written over; and what their peaks are.
class MixDown {
 public:
  /// Makes the room in `output`, which must outlive this. Errors: those of the meter.
  [[nodiscard]] static Result<MixDown> make(const DriveOptions& options, std::int64_t frames,
                                            DriveOutput& output);
  /// Room for frames of one second of the card; empty when nothing is rendered.
  [[nodiscard]] std::span<float> room(std::int64_t frame, std::int64_t count);
  [[nodiscard]] StemSpans stem_room(std::int64_t frame, std::int64_t count) const;
  /// Takes in what was rendered, in order. Errors: internal (no memory).
  [[nodiscard]] Status measure(std::span<const float> samples);
  /// Writes the peaks down.
  void finish(DriveOutput& output) const;

 private:
  std::optional<audio::TruePeakMeter> meter_;  // none: nothing is rendered
  std::size_t second_ = 0;                     // in frames
  std::vector<float> passing_;                 // a second that is not kept
  std::span<float> mix_;
  StemSpans stems_;
  double largest_ = 0.0;
};

}  // namespace fourbeat::drive
