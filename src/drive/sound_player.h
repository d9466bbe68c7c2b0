// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"
#include "voices.h"

#include "fourbeat/drive/engine.h"
#include "fourbeat/drive/spsc_queue.h"
#include "fourbeat/dsp/crossfade.h"

#include <atomic>
#include <cstdint>
#include <span>
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

/// Gives voices to chuffs and uses: who starts, who is stolen, how held sounds go from part to
/// part; docs/drive.md, sections 10 and 11. Every change comes at the frame it is called with, in
/// ascending order. No call allocates.
class SoundPlayer {
 public:
  SoundPlayer(const CompiledSet& set, int voices, EventSink& events);

  /// Starts a use, as its sound's retrigger rule and group say. in: how it fades in. False when
  /// nothing was started.
  bool start(std::int64_t frame, int use, Fade in = {}) noexcept;
  /// Lets a held sound go; a one-shot plays on.
  void release(std::int64_t frame, int use) noexcept;
  /// Fades a use out, in the voices it has.
  void fade_out(std::int64_t frame, int use, Fade fade) noexcept;
  /// Stops a use: lets a held sound go, fades a one-shot out.
  void stop(std::int64_t frame, int use) noexcept;
  /// Whether a voice plays a use that nobody has let go.
  [[nodiscard]] bool is_on(int use) noexcept;
  /// Whether a voice plays a use.
  [[nodiscard]] bool sounds(int use) noexcept { return bank_.playing(use) != nullptr; }

  /// Plays a chuff at its beat.
  void chuff(std::int64_t frame, const ImagePart& part) noexcept;
  /// Plays the loop of a fused row, unless it plays already; one of another row gives way.
  void fuse(std::int64_t frame, const ImagePart& part) noexcept;
  /// Lets the loop of a fused row fade out, when one plays.
  void unfuse(std::int64_t frame) noexcept;
  /// Frees voices that have played out and hands begins over to their holds.
  void settle(std::int64_t frame) noexcept;
  /// Ends everything, here and now.
  void cut(std::int64_t frame) noexcept;

  /// The gains that uses follow, by place; the last is the chuffs'.
  [[nodiscard]] std::span<Fader> faders() { return faders_; }
  [[nodiscard]] int chuff_fader() const { return static_cast<int>(faders_.size()) - 1; }
  /// Brings a gain to `level` by the next grid point, or at once while nothing follows it.
  void lead(int fader, float level) noexcept;

  [[nodiscard]] std::int64_t frames_to_change() const noexcept { return bank_.frames_to_change(); }
  void play(const StemBuffers& stems, GridPart part) noexcept { bank_.play(stems, part, faders_); }
  [[nodiscard]] int voices_peak() const noexcept { return voices_peak_; }

 private:
  bool start(std::int64_t frame, const ImagePart& part, Part role, int use, Fade in) noexcept;
  void release(std::int64_t frame, Voice& voice) noexcept;
  void fade_in_place(Voice& voice, Fade fade, Reason reason) noexcept;
  void clear_group(std::int64_t frame, int use) noexcept;
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
  bool end(std::int64_t frame, Voice& voice, Fade fade, Reason reason) noexcept;
  void tell(EventKind kind, std::int64_t frame, const Voice& voice, Reason reason) noexcept;
  [[nodiscard]] const ImageClip& clip_of(const ImagePart& part) const noexcept {
    return set_.clips[static_cast<std::size_t>(part.clip)];
  }

  const CompiledSet& set_;
  EventSink& events_;
  VoiceBank bank_;
  std::vector<Fader> faders_;
  std::vector<float> heard_;  ///< room for a crossfade's frames
  int voices_peak_ = 0;
};

}  // namespace fourbeat::drive
