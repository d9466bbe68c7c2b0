// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"
#include "voices.h"

#include "fourbeat/drive/engine.h"
#include "fourbeat/drive/spsc_queue.h"
#include "fourbeat/dsp/crossfade.h"

#include <array>
#include <atomic>
#include <cstdint>
#include <vector>

namespace fourbeat::drive {

/// The way out of the audio thread: events into a queue, losses counted.
class EventSink {
 public:
  explicit EventSink(std::size_t capacity) : queue_(capacity) {}
  void send(const EngineEvent& event) noexcept {
    if (!queue_.push(event)) lost_.fetch_add(1, std::memory_order_relaxed);
  }
  bool pop(EngineEvent& event) noexcept { return queue_.pop(event); }
  [[nodiscard]] std::uint64_t lost() const noexcept {
    return lost_.load(std::memory_order_relaxed);
  }

 private:
  SpscQueue<EngineEvent> queue_;
  std::atomic<std::uint64_t> lost_{0};
};

/// Gives voices to chuffs and keys: who starts, who is stolen, how held sounds go from part to
/// part; docs/drive.md, sections 6 and 7. Every change comes at the frame it is called with, in
/// ascending order. No call allocates.
class KeyPlayer {
 public:
  KeyPlayer(const CompiledSet& set, int voices, EventSink& events);

  /// Puts a key on or off; nothing when it already is.
  void set_key(std::int64_t frame, int number, bool on) noexcept;
  /// The engine turned round: sounds of the other direction are let go, those of this one start.
  void set_direction(std::int64_t frame, bool forward) noexcept;
  /// Plays a chuff at its beat.
  void chuff(std::int64_t frame, const ImagePart& part) noexcept;
  /// Plays the loop of a fused row, unless it plays already; one of another row gives way.
  void fuse(std::int64_t frame, const ImagePart& part) noexcept;
  /// Lets the loop of a fused row fade out, when one plays.
  void unfuse(std::int64_t frame) noexcept;
  /// Frees voices that have played out and hands begins over to their holds.
  void settle(std::int64_t frame) noexcept;

  [[nodiscard]] std::int64_t frames_to_change() const noexcept { return bank_.frames_to_change(); }
  void play(float* chuffs, float* keys, int frames) noexcept { bank_.play(chuffs, keys, frames); }
  [[nodiscard]] int voices_peak() const noexcept { return voices_peak_; }

 private:
  void press(std::int64_t frame, int use) noexcept;
  void release(std::int64_t frame, int use) noexcept;
  [[nodiscard]] bool serves(const ImageUse& use) const noexcept;
  void start(std::int64_t frame, const ImagePart& part, Part role, int use, Reason reason,
             Fade in = {}) noexcept;
  /// The voice that plays the loop of a fused row, or null.
  [[nodiscard]] Voice* fused_voice() noexcept;
  void miss(std::int64_t frame, const ImagePart& part) noexcept;
  /// Puts `part` in the place of what the voice plays, a crossfade between.
  bool swap(std::int64_t frame, Voice& voice, const ImagePart& part, Part role, Fade fade,
            Reason reason, std::int64_t position = 0) noexcept;
  /// Where `next` is entered so that it runs on with what is heard over a crossfade of `frames`.
  [[nodiscard]] dsp::Entry entry_of(const Player& heard, const ImageClip& next,
                                    int frames) noexcept;
  /// Readies a begin to fade out to a fade's end: on into its hold where that follows sample for
  /// sample, else with the fade no longer than what is left of it. Returns the fade.
  Fade fit_fade(Voice& voice, Fade fade) noexcept;
  /// Without room for one more fade beside the voices: fades where it is, and ends.
  void end_in_place(Voice& voice) noexcept;
  bool end(std::int64_t frame, Voice& voice, Fade fade, Reason reason) noexcept;
  void tell(EventKind kind, std::int64_t frame, const Voice& voice, Reason reason) noexcept;
  [[nodiscard]] const ImageClip& clip_of(const ImagePart& part) const noexcept {
    return set_.clips[static_cast<std::size_t>(part.clip)];
  }

  const CompiledSet& set_;
  EventSink& events_;
  VoiceBank bank_;
  std::vector<float> heard_;  ///< room for a crossfade's frames
  std::array<bool, model::highest_key + 1> on_{};
  bool forward_ = true;
  int voices_peak_ = 0;
};

}  // namespace fourbeat::drive
