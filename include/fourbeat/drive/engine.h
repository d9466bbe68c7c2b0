// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/compiled_set.h"
#include "fourbeat/drive/event.h"

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <type_traits>

/// Marks what the audio thread may call: no allocation, no lock, no I/O.
#if defined(__has_cpp_attribute)
#if __has_cpp_attribute(clang::nonblocking)
#define FOURBEAT_NONBLOCKING [[clang::nonblocking]]
#endif
#endif
#ifndef FOURBEAT_NONBLOCKING
#define FOURBEAT_NONBLOCKING
#endif

namespace fourbeat::drive {

/// Frames between the points at which control values change, counted from frame 0.
inline constexpr int control_grid_frames = 64;
/// Frames over which a sound that loses its voice fades out.
inline constexpr int steal_fade_frames = 64;

enum class CommandKind {
  throttle_step,
  key,
  direction,
  cv,
  load,
  gradient,
  emergency_stop,  ///< rest at once, until the throttle is moved
  power            ///< of the track
};

/// One move of the driver, for render(). A frame already past means at once.
struct Command {
  std::int64_t frame = 0;
  CommandKind kind = CommandKind::throttle_step;
  int number = 0;  ///< key: 0 to 68; cv: 1 to 1024
  int value = 0;   ///< throttle: step; key, power: 1 on, 0 off; direction: 1 forward; cv: 0 to 255
  double amount = 0.0;  ///< load: 0 to 1; gradient: percent, -50 to 50
};
static_assert(std::is_trivially_copyable_v<Command>);

struct EngineOptions {
  int speed_steps = 128;   ///< 14, 28 or 128
  int voice_limit = 0;     ///< 0: the profile's own; at most 256
  std::uint64_t seed = 1;  ///< of what triggers and slips draw
  std::size_t command_capacity = 1024;
  std::size_t event_capacity = 16384;
};

/// The parts of the mix, by Stem; a span is as long as the mix or empty (not wanted).
using StemSpans = std::array<std::span<float>, stem_count>;

/// Plays a compiled set. One thread pushes commands and takes events, one other renders; neither
/// waits for the other. Same image, options and commands at the same frames: same samples,
/// however the frames are cut into calls of render().
class Engine {
 public:
  /// Allocates all it will ever need. Errors: bad_argument (no set, options out of range).
  [[nodiscard]] static Result<std::unique_ptr<Engine>> create(
      std::shared_ptr<const CompiledSet> set, const EngineOptions& options);
  ~Engine();
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  /// Control thread: queues a command; frames must not descend. False, and counted, when the
  /// queue is full.
  bool push(const Command& command) noexcept;
  /// Control thread: the oldest event not yet taken; false when there is none.
  bool pop(EngineEvent& event) noexcept;

  /// Audio thread: the next mix.size() frames. The mix is the sum of the stems, added in float
  /// in the order of Stem. With an empty mix only the commands that are due are taken
  /// from the queue. Commands with values out of range are dropped and counted.
  void render(std::span<float> mix, const StemSpans& stems = {}) noexcept FOURBEAT_NONBLOCKING;
  /// As render(), without making samples: motion, voices and events alone.
  void advance(std::int64_t frames) noexcept FOURBEAT_NONBLOCKING;

  /// Audio thread, or any once rendering has stopped.
  [[nodiscard]] std::int64_t frame() const noexcept;  ///< the next one to be rendered
  [[nodiscard]] int voices_peak() const noexcept;     ///< most voices at once so far

  /// Any thread: losses so far.
  [[nodiscard]] std::uint64_t commands_lost() const noexcept;
  [[nodiscard]] std::uint64_t events_lost() const noexcept;

 private:
  class Core;
  struct Rig;
  explicit Engine(std::unique_ptr<Rig> rig);
  std::unique_ptr<Rig> rig_;
};

}  // namespace fourbeat::drive
