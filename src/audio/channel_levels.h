// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "level_histogram.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/audio/take_report.h"

#include <algorithm>
#include <cstdint>
#include <vector>

namespace fourbeat::audio {

/// Runs of samples equal to the highest and to the lowest value so far.
class FlatTopCounter {
 public:
  void add(float sample) {
    high_.add(sample);
    low_.add(-sample);
  }
  /// Of both sides, where the extreme is near full scale.
  [[nodiscard]] std::int64_t count() const { return high_.flat() + low_.flat(); }
  /// The largest magnitude.
  [[nodiscard]] float extreme() const { return std::max(high_.value, low_.value); }

 private:
  struct Top {
    float value = 0.0F;
    std::int64_t run = 0;
    std::int64_t runs = 0;
    void add(float sample);
    [[nodiscard]] std::int64_t flat() const;
  };
  Top high_;
  Top low_;
};

/// The figures of one channel that come from its samples one by one: peak, RMS, mean, noise
/// floor, flat tops, dropouts. Fed by blocks of any length; memory: some milliseconds.
class ChannelLevels {
 public:
  explicit ChannelLevels(double sample_rate_hz);
  void add(MonoView block);
  /// Fills in its own fields.
  void report(ChannelReport& into) const;
  /// Mean square less the square of the mean.
  [[nodiscard]] double power() const;

 private:
  void add_to_frames(MonoView block);
  void look_for_dropouts(MonoView block);

  std::size_t frame_length_;
  std::size_t edge_length_;  ///< 1 ms
  std::int64_t samples_ = 0;
  double sum_ = 0.0;
  double square_sum_ = 0.0;
  FlatTopCounter tops_;
  std::size_t in_frame_ = 0;
  double frame_square_sum_ = 0.0;
  LevelHistogram frames_;
  std::vector<float> history_;  ///< the last samples in front of the block, then the block
  std::int64_t zero_run_ = 0;
  bool loud_before_gap_ = false;
  std::size_t edge_left_ = 0;  ///< samples after a gap that are still looked at
  std::int64_t dropouts_ = 0;
};

}  // namespace fourbeat::audio
