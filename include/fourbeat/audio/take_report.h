// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/sound_file.h"

#include <cstdint>
#include <filesystem>
#include <optional>
#include <vector>

namespace fourbeat::audio {

/// What one channel of a take is like. Absent: no such figure (silence, too short).
struct ChannelReport {
  std::optional<double> peak_dbfs;
  std::optional<double> rms_dbfs;
  std::optional<double> loudness_lufs;     ///< integrated, this channel alone
  std::optional<double> noise_floor_dbfs;  ///< 10th percentile of 100 ms RMS
  std::optional<double> true_peak_dbtp;
  std::int64_t flat_tops =
      0;  ///< runs of 3 or more equal samples at the channel's own extreme, near full scale
  double dc_offset = 0.0;        ///< mean sample, full scale 1
  std::optional<double> hum_hz;  ///< strongest line at a multiple of 50, 60 or 16.7 Hz
  std::optional<double> hum_db;  ///< that line over its ±10 Hz surroundings
  std::optional<double>
      wind_db;                ///< energy under 40 Hz's gusting share over the rest, see the source
  std::int64_t dropouts = 0;  ///< runs of exact zeros over 1 ms inside sound
};

struct TakeReport {
  SoundFileInfo info;
  std::vector<ChannelReport> channels;
};

/// ChannelReport::flat_tops of a piece of one channel by itself.
[[nodiscard]] std::int64_t count_flat_tops(MonoView samples);

/// Reads the whole take once, by blocks; memory does not grow with its length.
/// Errors: as SoundFileReader, cancelled.
[[nodiscard]] Result<TakeReport> report_take(const std::filesystem::path& path, JobControl& job);

}  // namespace fourbeat::audio
