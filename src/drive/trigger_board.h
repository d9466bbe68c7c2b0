// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"
#include "layer_board.h"
#include "sound_player.h"
#include "tuning.h"

#include "fourbeat/base/random.h"

#include <array>
#include <cstdint>
#include <limits>
#include <vector>

namespace fourbeat::drive {

/// The triggers: what sets them off, what they draw, what they wait for and what they do;
/// docs/drive.md, section 7. Allocates when it is made, and never after.
class TriggerBoard {
 public:
  TriggerBoard(const CompiledSet& set, std::uint64_t seed);

  /// Something came about at the scene's frame.
  void tell(model::TriggerEvent event, const LayerScene& scene, const Tuning& tuning,
            const CvBank& cvs) noexcept;
  /// At a grid point, scene and tuning in force: states entered and left, speeds crossed, times
  /// come round.
  void update(const LayerScene& scene, const Tuning& tuning, const CvBank& cvs) noexcept;
  /// Does what is due.
  void act(std::int64_t frame, bool audible, SoundPlayer& player) noexcept;
  [[nodiscard]] std::int64_t next_frame() const noexcept { return next_; }
  /// Whether a sound keeps an engine at rest there.
  [[nodiscard]] bool holds_motion(std::int64_t frame, SoundPlayer& player) noexcept;
  /// Forgets what was waiting: nothing is heard any more.
  void forget() noexcept;

 private:
  enum class Deed { act, end };
  struct Waiting {
    std::int64_t frame = none;  // none: free
    int trigger = none;
    Deed deed = Deed::act;
  };
  struct Run {
    std::int64_t next = none;  // of `every`
    double speed_kmh = 0.0;    // when it was last looked at
    bool armed = true;         // a speed crossed counts once, until it was left behind
    bool asked = false;        // its sound is to hold the motion
    bool heard = false;        // and has begun
    std::int64_t until = 0;    // at the latest
  };
  void set_off(std::size_t index, const LayerScene& scene, const Tuning& tuning,
               const CvBank& cvs) noexcept;
  void wait(std::int64_t frame, std::size_t trigger, Deed deed) noexcept;
  void drop_ends(std::size_t trigger) noexcept;
  void perform(std::int64_t frame, std::size_t index, bool audible, SoundPlayer& player) noexcept;
  /// rho: of what it fades against, see Fade.
  void stop_sound(std::int64_t frame, int sound, double fade_s, float rho,
                  SoundPlayer& player) noexcept;
  [[nodiscard]] bool crossed(std::size_t index, double speed_kmh) noexcept;
  [[nodiscard]] std::int64_t frames(double seconds) const noexcept {
    return static_cast<std::int64_t>(seconds * set_.sample_rate_hz);
  }

  static constexpr std::size_t most_waiting = 256;
  static constexpr std::int64_t never = std::numeric_limits<std::int64_t>::max();
  const CompiledSet& set_;
  Random random_;
  std::vector<Run> runs_;
  std::array<Waiting, most_waiting> waiting_{};
  std::int64_t next_ = never;  // of what waits
  model::State state_ = model::State::standing;
  std::uint64_t own_states_ = 0;
  bool begun_ = false;
};

}  // namespace fourbeat::drive
