// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "PlaySource.h"

#include "fourbeat/drive/drive.h"
#include "fourbeat/drive/engine.h"
#include "fourbeat/drive/spsc_queue.h"

#include <atomic>
#include <memory>
#include <vector>

namespace fourbeat::ui {

/// A set driven while it is heard. The window's thread gives commands and takes what happened; the
/// sound thread renders. A command is obeyed at the first frame that is rendered after it came, and
/// that frame is told, so that a card of the commands drives the set the same way again.
class LiveDrive final : public LiveSound {
 public:
  /// Speed steps of the throttle, and what is drawn by lot, as a run card of this drive has them.
  static constexpr int speed_steps = 128;
  static constexpr std::uint64_t seed = 1;

  /// sample_rate_hz: the set's output rate. Errors: those of Engine::create.
  [[nodiscard]] static Result<std::shared_ptr<LiveDrive>> create(
      std::shared_ptr<const drive::CompiledSet> set, int sample_rate_hz);

  // Window's thread.

  /// Queues a command; its frame is not looked at. False when too many wait (nobody renders).
  bool give(const drive::Command& command) noexcept { return given_.push(command); }
  /// The commands obeyed since the last call, with their frames.
  [[nodiscard]] std::vector<drive::Command> takeObeyed();
  /// What happened since the last call.
  [[nodiscard]] std::vector<drive::Event> takeEvents();
  /// Frames rendered so far.
  [[nodiscard]] std::int64_t frames() const noexcept {
    return frames_.load(std::memory_order_acquire);
  }
  [[nodiscard]] int sampleRateHz() const noexcept { return sample_rate_hz_; }
  /// Commands and events that were lost because the window did not take them in time.
  [[nodiscard]] std::uint64_t lost() const noexcept;

  // Sound thread.
  void render(std::span<float> out) noexcept override;

 private:
  LiveDrive(std::shared_ptr<const drive::CompiledSet> set, std::unique_ptr<drive::Engine> engine,
            int sample_rate_hz);

  std::shared_ptr<const drive::CompiledSet> set_;
  std::unique_ptr<drive::Engine> engine_;
  int sample_rate_hz_;
  drive::SpscQueue<drive::Command> given_;
  drive::SpscQueue<drive::Command> obeyed_;
  std::atomic<std::int64_t> frames_{0};
  std::atomic<std::uint64_t> untold_{0};
};

}  // namespace fourbeat::ui
