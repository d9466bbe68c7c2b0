// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/dsp/sample_source.h"
#include "fourbeat/work/analyse.h"

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::work {

/// A stretch of a file as one channel: the one named, else the mean of all. Read by blocks, of
/// which one is held. Going on from the block costs no seeking, wherever a packed format would have
/// to look for the place.
class FileSource : public dsp::SampleSource {
 public:
  static constexpr FrameCount usual_block{1 << 14};
  /// block: frames read at a time, at least 1. Errors: those of opening and of frames_of().
  [[nodiscard]] static Result<FileSource> open(const std::filesystem::path& file,
                                               const Stretch& stretch,
                                               FrameCount block = usual_block);

  [[nodiscard]] const audio::SoundFileInfo& info() const { return reader_->info(); }
  /// In the file; frames of the source count from its start.
  [[nodiscard]] const FrameRange& range() const { return range_; }
  [[nodiscard]] FrameCount frames() const override { return range_.length(); }
  /// One channel, from 1, of a stretch of the same file; both must be there. Sources of one file
  /// share its reader: one thread at a time for all.
  [[nodiscard]] FileSource of_channel(int channel, FrameRange range) const;

  /// Frames in memory: what was asked for last, a block, and a quarter of one before it.
  [[nodiscard]] FrameCount held() const {
    return FrameCount(static_cast<std::int64_t>(held_.size()));
  }

 private:
  FileSource(std::shared_ptr<audio::SoundFileReader> reader, FrameRange range,
             std::optional<int> channel, FrameCount block);
  Result<audio::MonoView> fetch(const FrameRange& range) override;
  /// Reads on to `end`, the last frame held being the one before `start`.
  Status append(FrameIndex start, FrameIndex end);

  std::shared_ptr<audio::SoundFileReader> reader_;
  FrameRange range_;
  FrameCount block_;
  std::vector<int> channels_;  ///< that are read; empty: all
  FrameIndex held_from_;
  std::vector<float> held_;
};

}  // namespace fourbeat::work
