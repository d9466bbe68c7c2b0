// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/audio/sound_file.h"

#include <QString>
#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <span>
#include <variant>
#include <vector>

namespace fourbeat::ui {

/// A piece in memory. With `hold`, its loop repeats until Transport::letGo(), and what follows the
/// loop then plays on; a clip without a loop has nothing to hold.
struct ClipSource {
  std::shared_ptr<const audio::Clip> clip;
  bool hold = false;
};

/// A take, streamed from its file. gains: one a channel, linear; 0 is muted, and so are those left
/// out; none at all: every channel at 1. All are mixed to mono.
struct TakeSource {
  std::filesystem::path path;
  audio::SoundFileInfo info;
  std::vector<float> gains;
};

/// Sound that is made while it plays and has no end of its own. sound: renders its next frames in
/// the sound thread; allocates, locks and reads nothing, and serves one play only.
class LiveSound {
 public:
  LiveSound() = default;
  LiveSound(const LiveSound&) = delete;
  LiveSound& operator=(const LiveSound&) = delete;
  virtual ~LiveSound() = default;
  virtual void render(std::span<float> out) noexcept = 0;
};
struct LiveSource {
  std::shared_ptr<LiveSound> sound;
  double sample_rate_hz = 0.0;
};
/// The frames of what has no end: more than are ever played.
inline constexpr std::int64_t endless_frames = std::int64_t{1} << 52;

/// What to play. Frames are the source's own.
struct PlayRequest {
  std::variant<ClipSource, TakeSource, LiveSource> source;
  FrameRange range;     ///< what plays; empty: the whole source
  FrameIndex from;      ///< where playing begins; outside range, or on its last frame: its start
  bool repeat = false;  ///< the range plays again and again, without a gap
  QString title;        ///< what the transport shows
  /// Who asked: pages move their playhead only for their own key, e.g. "take/4", "segment/12".
  QString key;

  /// As a view asks: the stretch selected, if one is, else what there is from the playhead on.
  void place(FrameIndex playhead, const std::optional<FrameRange>& selection) {
    from = playhead;
    if (!selection || selection->empty()) return;
    range = *selection;
    from = selection->start;
  }
};

}  // namespace fourbeat::ui
