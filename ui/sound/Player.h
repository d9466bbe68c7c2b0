// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "PlaySource.h"
#include "TakeStream.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/drive/spsc_queue.h"

#include <array>
#include <atomic>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::ui {

class Voice;

/// Where what is heard comes from, and when: one report a block that was rendered.
struct PlayerReport {
  std::uint64_t voice = 0;        ///< what Player::play() returned
  std::int64_t output_frame = 0;  ///< counted over all that was rendered
  double source_frame = 0.0;      ///< what sounds at output_frame
  double step = 0.0;              ///< source frames an output frame
  bool ended = false;             ///< it played to its end; nothing of it sounds from there on
};

/// Makes the sound of one thing at a time: a piece in memory or a take read from its file. One
/// control thread commands, one audio thread renders; neither waits for the other, and rendering
/// allocates, locks and reads nothing. Rates are brought to the output's by Kernel; equal rates at
/// full speed pass through bit by bit. What starts, stops or is replaced fades over 4 ms, but for
/// a piece's own first and last frame, which are heard as they are. Repeats and loops join frame
/// to frame, unfaded: the seam is what the designer listens for.
class Player {
 public:
  static constexpr double fade_s = 0.004;
  static constexpr double peak_window_s = 0.05;

  Player();
  /// Rendering must have ended.
  ~Player();
  Player(const Player&) = delete;
  Player& operator=(const Player&) = delete;

  // Control thread. Each call is heard with the next block that is rendered.

  /// Plays a piece in the place of what plays. range inside the clip, not empty; from in it. With
  /// `hold`, the clip's loop repeats until letGo(). Returns its number; 0 when 256 commands wait
  /// already (nobody renders): nothing changes then.
  std::uint64_t play(std::shared_ptr<const audio::Clip> clip, FrameRange range, FrameIndex from,
                     bool repeat, bool hold);
  /// Plays a take. gains: one a channel, those left out are 0; none at all: every channel at 1.
  std::uint64_t playTake(const std::filesystem::path& path, int sampleRateHz, int channels,
                         FrameRange range, FrameIndex from, bool repeat,
                         const std::vector<float>& gains);
  /// Plays what is made as it plays, from its next frame on.
  std::uint64_t playLive(std::shared_ptr<LiveSound> sound, double sampleRateHz);
  bool stop();
  void letGo();
  void setGains(const std::vector<float>& gains);
  void setRepeat(bool repeat);
  /// 1 is full speed, 0.5 an octave lower; 0.25 to 1.
  void setSpeed(double speed) noexcept { speed_.store(speed, std::memory_order_relaxed); }
  /// Linear, 0 to 1; reached within 20 ms.
  void setVolume(float gain) noexcept { volume_.store(gain, std::memory_order_relaxed); }
  /// The oldest report not yet taken; false when there is none. Those not taken are lost from the
  /// 4096th on.
  bool next(PlayerReport& report) noexcept { return reports_.pop(report); }
  /// Frees what no longer plays. Call it now and then.
  void collect();
  /// True while something sounds, is about to, or waits for collect().
  [[nodiscard]] bool busy() const noexcept { return !alive_.empty(); }
  /// Why the take that was started last cannot be read on; told once.
  [[nodiscard]] std::optional<Error> takeError();

  // Any thread.

  /// Highest sample of the last 50 ms, before the volume: an overload shows however softly it is
  /// listened to.
  [[nodiscard]] float peak() const noexcept { return peak_.load(std::memory_order_relaxed); }
  /// Frames rendered so far.
  [[nodiscard]] std::int64_t rendered() const noexcept {
    return rendered_.load(std::memory_order_acquire);
  }
  /// Output frames that were silent because a take was not read in time.
  [[nodiscard]] std::uint64_t shortfall() const noexcept {
    return shortfall_.load(std::memory_order_relaxed);
  }
  // Audio thread.

  /// The next frames, one channel. rate_hz: the output's, 8000 to 768000; may change between calls.
  void render(std::span<float> out, double rate_hz) noexcept;

 private:
  struct Command {
    Voice* voice = nullptr;  ///< what to start; null: stop
  };
  static constexpr std::size_t slots = 8;
  static constexpr std::size_t peak_parts = 5;
  static constexpr std::size_t chunk_frames = 64;

  std::uint64_t start(std::unique_ptr<Voice> voice);
  void obey() noexcept;
  void give(Voice*& voice) noexcept;
  void meter(std::span<const float> block, double rate_hz) noexcept;

  TakeReader reader_;
  drive::SpscQueue<Command> commands_;
  drive::SpscQueue<Voice*> done_;
  drive::SpscQueue<PlayerReport> reports_;
  std::atomic<double> speed_{1.0};
  std::atomic<float> volume_{1.0F};
  std::atomic<float> peak_{0.0F};
  std::atomic<std::int64_t> rendered_{0};
  std::atomic<std::uint64_t> shortfall_{0};

  // Control thread's own.
  std::uint64_t serial_ = 0;
  Voice* latest_ = nullptr;  ///< lives until collect() takes it back
  std::vector<Voice*> alive_;
  bool told_ = false;

  // Audio thread's own.
  Voice* current_ = nullptr;
  std::array<Voice*, slots> leaving_{};
  float gain_ = 1.0F;
  std::array<float, peak_parts> peaks_{};
  std::size_t peak_part_ = 0;
  std::int64_t peak_frames_ = 0;
};

}  // namespace fourbeat::ui
