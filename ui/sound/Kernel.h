// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

namespace fourbeat::ui {

/// The interpolation filter of the player: a sinc of 32 zero crossings a side under a Kaiser
/// window, cut off at 0.48 of the lower of the two rates. Flat to 0.43 of that rate, more than
/// 90 dB down from 0.53 of it; tabulated 512 to a crossing and interpolated linearly (error under
/// -110 dB). Immutable once made.
class Kernel {
 public:
  static constexpr int crossings = 32;

  /// The one table. The first call computes it (some ms): not on an audio thread.
  static const Kernel& instance();

  /// Half width in source frames at `step` source frames an output frame.
  [[nodiscard]] static int halfFrames(double step) noexcept;

  /// The value between centre[0] and centre[1], `place` (0 to under 1) of the way. Reads
  /// halfFrames(step) frames to either side: centre[1 - half] to centre[half].
  [[nodiscard]] float between(const float* centre, double place, double step) const noexcept;

 private:
  Kernel();
  std::vector<float> table_;
};

}  // namespace fourbeat::ui
