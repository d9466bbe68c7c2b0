// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"
#include "sound_player.h"
#include "states.h"
#include "tuning.h"
#include "wheel_clock.h"

#include <cstdint>
#include <vector>

namespace fourbeat::drive {

/// What layers are judged by beside the situation.
struct LayerScene {
  Situation now;
  model::State state = model::State::standing;
  std::uint64_t own_states = 0;
  bool audible = true;
};

/// The layers: beds that come and go with what the engine does, strokes at places of the wheel or
/// of the rails, and how loud each is; docs/drive.md, section 8. Allocates when it is made, and
/// never after.
class LayerBoard {
 public:
  LayerBoard(const CompiledSet& set, const WheelClock& wheel);

  /// At a grid point: beds start and stop, strokes to come are found.
  void update(const LayerScene& scene, const Tuning& tuning, const CvBank& cvs,
              SoundPlayer& player) noexcept;
  /// Plays the strokes that are due.
  void sound(std::int64_t frame, SoundPlayer& player) noexcept;
  /// The frame of the next stroke before the next grid point.
  [[nodiscard]] std::int64_t next_frame() const noexcept;
  /// How loud a use is by its layer, 1 where it is of none.
  [[nodiscard]] float level(const ImageUse& use) const noexcept {
    return use.layer == none ? 1.0F : runs_[static_cast<std::size_t>(use.layer)].level;
  }

 private:
  struct Run {
    bool on = false;
    float level = 0.0F;
    std::int64_t cycle = 0;  // of the stroke to come
    std::size_t place = 0;
    std::int64_t due = none;
    std::size_t turn = 0;  // of its sounds
  };
  void find(const ImageLayer& layer, Run& run) noexcept;
  const CompiledSet& set_;
  const WheelClock& wheel_;
  double circumference_m_;
  std::int64_t grid_ = 0;
  std::vector<Run> runs_;
};

}  // namespace fourbeat::drive
