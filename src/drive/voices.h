// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"

#include <array>
#include <cstdint>
#include <span>
#include <vector>

namespace fourbeat::drive {

/// A smooth rise 3p² - 2p³ of `length` frames; with another one falling, scaled so that the power
/// of two sides of correlation rho stays flat. rho = 1 leaves the plain rise.
struct Fade {
  int length = 0;  ///< 0: none
  int done = 0;
  float rho = 1.0F;

  [[nodiscard]] bool active() const { return length > 0; }
};

/// The gains of both sides at a frame of the fade.
struct FadePair {
  float out = 1.0F;
  float in = 0.0F;
};
[[nodiscard]] FadePair fade_pair(const Fade& fade) noexcept;

/// A gain that changes on the control grid, straight in between: `from` at the last grid point,
/// `to` at the next.
struct Fader {
  float from = 1.0F;
  float to = 1.0F;
};

/// The level of a gain at the next grid point, on its way to `level`: a sixteenth of the greater of
/// the two a step at most, so that no gain bends a tone audibly.
[[nodiscard]] float next_level(float now, float level) noexcept;

/// The part of a grid interval that is played now.
struct GridPart {
  int start = 0;   ///< frames after the grid point
  int frames = 0;  ///< never beyond the next
};

/// Where the sounds of each stem are added, by Stem; null: none.
using StemBuffers = std::array<float*, stem_count>;

/// One clip being read.
struct Player {
  const ImageClip* clip = nullptr;  ///< null: idle
  const ImageClip* next = nullptr;  ///< goes on with it, sample for sample, when `clip` ends
  std::int64_t position = 0;
  float gain = 1.0F;
  float next_gain = 1.0F;
  Stem stem = Stem::keys;
  int fader = 0;  ///< index of the gain it follows
  Fade in;
  Fade out;

  [[nodiscard]] bool idle() const { return clip == nullptr; }
  [[nodiscard]] bool loops() const { return clip->loop_start != none; }
  [[nodiscard]] bool goes_on() const { return loops() || next != nullptr; }
  /// Frames until it falls idle; what goes on never does by itself.
  [[nodiscard]] std::int64_t frames_left() const;
  /// Adds the next frames to `out` (null: none) and moves on; idle once played out.
  void play(float* out, GridPart part, const Fader& level) noexcept;
};

enum class Part { shot, begin, hold, release };

/// One voice of the decoder: one sound at a time.
struct Voice {
  Player player;
  bool taken = false;
  bool heard = false;  ///< at least a frame was played
  Part part = Part::shot;
  int use = none;                 ///< none: a chuff
  Reason ending = Reason::ended;  ///< why it ends once it is played out
  int piece = none;
  int priority = 0;
  std::int64_t serial = 0;        ///< ascending with the start
  std::int64_t switch_at = none;  ///< position at which the part hands over; none: never
};

/// The voices of a decoder and, beside them, the short fades (at most a crossfade long) of what
/// voices played before. Preallocated; no call allocates.
class VoiceBank {
 public:
  explicit VoiceBank(int voices);

  [[nodiscard]] std::span<Voice> voices() { return voices_; }
  [[nodiscard]] int sounding() const noexcept { return sounding_; }
  [[nodiscard]] int index_of(const Voice& voice) const {
    return static_cast<int>(&voice - voices_.data());
  }

  /// A voice that is free; null when all are taken.
  [[nodiscard]] Voice* free_voice() noexcept;
  /// Whose voice a newcomer of `priority` may take: the lowest priority's, then the oldest's;
  /// null when all are above `priority`.
  [[nodiscard]] Voice* victim(int priority) noexcept;
  /// The latest voice that plays a use (`none`: a chuff); null when none does.
  [[nodiscard]] Voice* playing(int use) noexcept;

  /// Starts a player on a free voice; the caller sets part, use, priority and switch_at.
  void start(Voice& voice, const Player& player) noexcept;
  /// Frees a voice; what it plays fades out beside it. False, and nothing done, when there is no
  /// room for one more fade.
  [[nodiscard]] bool let_go(Voice& voice, Fade fade) noexcept;
  /// Frees a voice that has played out, or whose sound no fade needs to end.
  void vacate(Voice& voice) noexcept;

  /// Frames until a voice plays out or hands over; at least 0.
  [[nodiscard]] std::int64_t frames_to_change() const noexcept;
  /// Adds the frames of all voices and fades to the stems; never past a change.
  void play(const StemBuffers& stems, GridPart part, std::span<const Fader> faders) noexcept;
  /// Whether a voice or a fade follows this fader.
  [[nodiscard]] bool follows(int fader) const noexcept;
  /// Ends every voice and every fade, here and now.
  void silence() noexcept;

 private:
  std::vector<Voice> voices_;
  std::vector<Player> tails_;
  int sounding_ = 0;
  std::int64_t next_serial_ = 0;
};

}  // namespace fourbeat::drive
