// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "effort.h"
#include "image.h"
#include "key_board.h"
#include "layer_board.h"
#include "sound_player.h"
#include "states.h"
#include "trigger_board.h"
#include "tuning.h"
#include "wheel_clock.h"

#include "fourbeat/base/random.h"
#include "fourbeat/drive/engine.h"
#include "fourbeat/drive/motion.h"
#include "fourbeat/drive/spsc_queue.h"
#include "fourbeat/drive/steam.h"

#include <array>
#include <atomic>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

namespace fourbeat::drive {

/// What an Engine is: one pass from frame to frame. Nothing but the constructor allocates.
class Engine::Core {
 public:
  Core(std::shared_ptr<const CompiledSet> compiled, const EngineOptions& options);

  /// The next frames, added to the stems.
  void run(std::int64_t frames, const StemBuffers& stems) noexcept;

  std::shared_ptr<const CompiledSet> set;
  SpscQueue<Command> commands;
  EventSink events;
  std::atomic<std::uint64_t> commands_lost{0};
  std::int64_t now = 0;

  [[nodiscard]] int voices_peak() const noexcept { return player_.voices_peak(); }

 private:
  /// Speed and effort some time ago, for rows that are chosen late.
  class Past {
   public:
    explicit Past(int sample_rate_hz);
    void keep(double speed_kmh, model::Effort effort) noexcept;
    struct Entry {
      double speed_kmh = 0.0;
      model::Effort effort = model::Effort::easy;
    };
    [[nodiscard]] const Entry& back(std::size_t grid_points) const noexcept;

   private:
    std::vector<Entry> ring_;
    std::size_t next_ = 0;
  };

  // Commands.
  void take_due() noexcept;
  void take(const Command& command) noexcept;
  void cvs_changed() noexcept;
  void set_power(bool on) noexcept;
  void face() noexcept;
  void set_curves() noexcept;
  [[nodiscard]] KeyBoard::Scene key_scene() const noexcept;

  // The control grid.
  void reach_grid() noexcept;
  void ask_keys() noexcept;
  void run_steam(double speed_kmh) noexcept;
  void judge(double speed_kmh) noexcept;
  void tell_moves(double speed_kmh) noexcept;
  void steer(double speed_kmh) noexcept;
  void tell_steam() noexcept;
  void maybe_slip() noexcept;
  void run_slip(double speed_kmh) noexcept;
  void sleep_or_wake() noexcept;
  void set_gains() noexcept;
  void set_sound_levels() noexcept;
  void tell_states() noexcept;
  void tell(model::TriggerEvent event) noexcept;
  /// Whether the engine's sound is on, or still being shut down.
  [[nodiscard]] bool awake() const noexcept;
  /// Whether something new may sound.
  [[nodiscard]] bool audible() const noexcept;

  // Between grid points.
  void sound_beats() noexcept;
  void play_row(int index) noexcept;
  [[nodiscard]] int row_of_beat() const noexcept;
  void tell_speed() noexcept;
  void send(EventKind kind, int number, int value) noexcept;
  [[nodiscard]] std::int64_t next_change() const noexcept;
  void fade_whole(const StemBuffers& stems, GridPart part) const noexcept;
  [[nodiscard]] std::int64_t frames_of(double seconds) const noexcept {
    return static_cast<std::int64_t>(seconds * set->sample_rate_hz);
  }

  int speed_steps_;
  int last_step_;
  CvBank cvs_;
  Tuning tuning_;
  bool asked_forward_ = true;
  Controls controls_;
  Controls in_force_;  // as last planned
  bool planned_ = false;
  bool faced_forward_ = true;
  bool curves_changed_ = false;
  bool stopped_ = false;  // by an emergency stop
  bool powered_ = true;
  std::int64_t power_lost_ = 0;
  bool cut_ = false;  // nothing sounds any more for want of power
  bool was_awake_;
  bool told_awake_;
  bool told_powered_ = true;
  std::int64_t slept_ = 0;  // when it was shut down
  Motion motion_;
  WheelClock wheel_;
  BeatClock beats_;
  EffortRule effort_rule_;
  model::Effort effort_ = model::Effort::easy;
  StateJudge states_;
  OwnStates own_states_;
  std::uint64_t told_own_states_ = 0;
  model::State told_state_ = model::State::standing;
  bool state_told_ = false;
  double rest_turns_ = 0.0;
  SoundPlayer player_;
  KeyBoard keys_;
  KeyTasks tasks_;
  TriggerBoard triggers_;
  LayerBoard layers_;
  std::optional<Steam> steam_;
  SteamEvents steam_events_;
  Random slips_;
  std::optional<double> slip_at_turns_;  // when one that was drawn begins
  Past past_;
  LayerScene scene_;
  std::vector<float> sound_levels_;  // that CVs give, by sound
  float chuff_level_ = 1.0F;
  Fader whole_;  // of everything
  float silence_ = 1.0F;
  bool was_moving_ = false;
  bool was_leaving_ = false;
  bool steam_on_ = false;
  bool was_slipping_ = false;
  std::int64_t grid_ = 0;       // the last grid point
  std::int64_t next_grid_ = 0;  // and the next
  std::int64_t speeds_told_ = 0;
  std::int64_t gauges_told_ = 0;
  BeatClock::Beat beat_;
};

}  // namespace fourbeat::drive
