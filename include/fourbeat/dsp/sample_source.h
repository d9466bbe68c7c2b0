// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/frame.h"
#include "fourbeat/base/result.h"

namespace fourbeat::dsp {

/// One channel's samples, handed out piece by piece, so that a long take need not be held at once.
/// One thread at a time.
class SampleSource {
 public:
  virtual ~SampleSource() = default;
  [[nodiscard]] virtual FrameCount frames() const = 0;
  /// The frames of `range`, valid until the next read. Whoever reads asks for no more than a few
  /// seconds, mostly a little further on than before. Errors: bad_argument (outside the samples),
  /// those of the source.
  [[nodiscard]] Result<audio::MonoView> read(FrameRange range);

 private:
  /// The range is inside.
  virtual Result<audio::MonoView> fetch(const FrameRange& range) = 0;
};

/// Samples that are in memory; the span must outlive it.
class MemorySource : public SampleSource {
 public:
  explicit MemorySource(audio::MonoView samples) : samples_(samples) {}
  [[nodiscard]] FrameCount frames() const override;

 private:
  Result<audio::MonoView> fetch(const FrameRange& range) override;

  audio::MonoView samples_;
};

/// A stretch of another source, which must outlive it and hold the stretch.
class PartSource : public SampleSource {
 public:
  PartSource(SampleSource& whole, FrameRange part) : whole_(whole), part_(part) {}
  [[nodiscard]] FrameCount frames() const override { return part_.length(); }

 private:
  Result<audio::MonoView> fetch(const FrameRange& range) override;

  SampleSource& whole_;
  FrameRange part_;
};

}  // namespace fourbeat::dsp
