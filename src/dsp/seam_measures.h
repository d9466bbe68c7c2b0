// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "hop_rows.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>
#include <vector>

namespace fourbeat::dsp {

inline constexpr std::int64_t tell_frames = 7;  ///< 20 ms frames, one every 5 ms: 50 ms

/// One kind of unevenness at a point of a sound (docs/seams.md).
struct MeasureKind {
  std::string_view name;
  std::int64_t window_hops;  ///< how far it looks to either side, in hops of 5 ms
  double least_p95;          ///< no 95th percentile counts as smaller: nobody hears that little
};

enum MeasureIndex : std::size_t {
  sample_step,
  slope_step,
  spectrum_fine,
  spectrum_low,
  rms_50ms,
  rms_500ms,
  colour_500ms,
  rhythm,
  measure_count
};

inline constexpr std::array<MeasureKind, measure_count> measure_kinds = {{
    {"sample_step", 1, 1e-3},  // least: times the channel's RMS
    {"slope_step", 1, 1e-3},   // least: times the channel's RMS
    {"spectrum_fine", 4, 0.5},
    {"spectrum_low", 20, 0.5},
    {"rms_50ms", 10, 0.3},
    {"rms_500ms", 100, 0.25},
    {"colour_500ms", 100, 0.3},
    {"rhythm", 100, 0.5},
}};

/// Points on the endless loop, every hop, counted in hops from the wrap: the seam's points first,
/// then those of the rest of the loop.
struct SeamGrid {
  double sample_rate_hz = 0.0;
  std::int64_t loop_frames = 0;
  std::int64_t hop_frames = 0;
  std::int64_t seam_first = 0;  ///< first point of the seam's stretch, in hops; may be negative
  std::int64_t seam_last = 0;   ///< last point of it
  std::int64_t last = 0;        ///< last point of all: one before the seam's stretch begins again

  [[nodiscard]] std::int64_t points() const { return last - seam_first + 1; }
  [[nodiscard]] std::int64_t seam_points() const { return seam_last - seam_first + 1; }
};

/// values[channel][measure][point]; the measures that were not asked for are empty. `rhythm` is
/// measured over all channels at once and stands in channel 0. Units: steps in full scale,
/// otherwise dB.
struct SeamSeries {
  std::vector<std::array<std::vector<float>, measure_count>> values;
  std::vector<double> channel_rms;
  /// Overall level in dB of 20 ms frames at every point, mean over the channels.
  std::vector<float> level_db;
  /// Per channel and point: octave levels over the 50 ms from there on, in dB, from 250 Hz up.
  std::vector<std::vector<float>> octave_db;
  std::size_t octaves = 0;
};

/// What a point of the endless loop must be like to serve as a pattern for the rhythm measure.
struct InteriorSpan {
  std::int64_t first = 0;  ///< point index
  std::int64_t last = -1;
  [[nodiscard]] std::int64_t points() const { return last - first + 1; }
};

/// All asked-for measures at every point. `loop`: one turn, finite. Hops of the loop that are
/// `known` are not measured again: the answer is the same. Errors: cancelled.
[[nodiscard]] Result<SeamSeries> measure_points(const std::vector<std::vector<float>>& loop,
                                                const SeamGrid& grid,
                                                const std::array<bool, measure_count>& wanted,
                                                const InteriorSpan& interior,
                                                const KnownHops& known, JobControl& job);

}  // namespace fourbeat::dsp
