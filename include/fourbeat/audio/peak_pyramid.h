// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/frame.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace fourbeat::audio {

/// What a stretch of one channel spans; full scale is ±1.
struct Peak {
  float min = 0.0F;
  float max = 0.0F;
  float rms = 0.0F;
  bool operator==(const Peak&) const = default;
};

/// Least, largest and RMS sample of every block of a take, and of blocks of two, four, eight …
/// such blocks, so that any stretch of any length is drawn without reading samples.
/// A block has 256 frames, or 512, 1024 … in a take so long that it would have more than 2^21
/// blocks in all channels: at most 50 MB at any length. Immutable once made; any thread.
class PeakPyramid {
 public:
  /// Streams the whole take once. Errors: as SoundFileReader::read_blocks, cancelled.
  [[nodiscard]] static Result<PeakPyramid> build(SoundFileReader& take, JobControl& job);

  /// The pyramid kept in `cache_file` for the take of this content hash; where there is none, or
  /// it is of another take, another version or broken, it is built and kept there. A cache that
  /// cannot be written is no error: the next call builds again. Cancelled: no file is left.
  /// Errors: as SoundFileReader::open and build().
  [[nodiscard]] static Result<PeakPyramid> load_or_build(const std::filesystem::path& take,
                                                         std::string_view content_sha256,
                                                         const std::filesystem::path& cache_file,
                                                         JobControl& job);

  /// Frames of one block in a take of this size.
  [[nodiscard]] static std::int64_t block_frames_for(FrameCount frames, int channels);

  [[nodiscard]] int channels() const { return static_cast<int>(levels_.size()); }
  [[nodiscard]] FrameCount frames() const { return frames_; }
  [[nodiscard]] FrameCount block_frames() const { return FrameCount(block_frames_); }

  /// `columns` columns side by side of channel `channel` (from 1): column i spans the frames from
  /// start + i × frames_per_column to start + (i + 1) × frames_per_column, widened to whole
  /// blocks; columns outside the take are all 0. Cost: O(log frames) a column.
  /// Errors: bad_argument (channel, frames_per_column not a finite number over 0, columns outside
  /// 0 … 1 000 000).
  [[nodiscard]] Result<std::vector<Peak>> columns(int channel, FrameIndex start,
                                                  double frames_per_column,
                                                  std::int64_t columns) const;

 private:
  struct Block {
    float min = 0.0F;
    float max = 0.0F;
    float mean_square = 0.0F;
  };
  using Level = std::vector<Block>;

  void stack();
  [[nodiscard]] Peak over_blocks(int channel_index, std::int64_t first, std::int64_t end) const;
  [[nodiscard]] std::string cache_bytes(std::string_view content_sha256) const;
  [[nodiscard]] static Result<PeakPyramid> from_cache(std::string_view bytes,
                                                      std::string_view content_sha256,
                                                      const SoundFileInfo& info);

  FrameCount frames_;
  std::int64_t block_frames_ = 1;
  std::vector<std::vector<Level>> levels_;  ///< by channel, finest first
};

}  // namespace fourbeat::audio
