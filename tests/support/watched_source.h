// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/sample_source.h"

#include <algorithm>
#include <cstdint>
#include <limits>
#include <optional>
#include <utility>
#include <vector>

namespace fourbeat::tests {

/// Samples handed out as copies; what was read before is NaN from the next read on. Notes how much
/// is asked of it, and fails where told to.
class WatchedSource : public dsp::SampleSource {
 public:
  explicit WatchedSource(audio::MonoView samples) : samples_(samples) {}
  [[nodiscard]] FrameCount frames() const override { return samples_.frames(); }

  int reads = 0;
  FrameCount largest;
  std::int64_t all_frames = 0;
  std::optional<int> fails_at;  ///< read, counted from 0

 private:
  Result<audio::MonoView> fetch(const FrameRange& range) override {
    std::fill(copy_.begin(), copy_.end(), std::numeric_limits<float>::quiet_NaN());
    const Result<audio::MonoView> read = samples_.read(range);
    if (!read || reads++ == fails_at) return Error{ErrorCode::io_failed, "", "here", "", ""};
    largest = std::max(largest, range.length());
    all_frames += range.length().value();
    last_ = std::exchange(copy_, std::vector<float>(read->begin(), read->end()));
    return audio::MonoView(copy_);
  }

  dsp::MemorySource samples_;
  std::vector<float> copy_;
  std::vector<float> last_;  ///< kept, so that whoever holds on to it reads NaN, not what was freed
};

}  // namespace fourbeat::tests
