// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/audio/sound_file.h"

#include <QString>
#include <filesystem>
#include <memory>
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

/// What to play. Frames are the source's own.
struct PlayRequest {
  std::variant<ClipSource, TakeSource> source;
  FrameRange range;     ///< what plays; empty: the whole source
  FrameIndex from;      ///< where playing begins, inside range
  bool repeat = false;  ///< the range plays again and again, without a gap
  QString title;        ///< what the transport shows
  /// Who asked: pages move their playhead only for their own key, e.g. "take/4", "segment/12".
  QString key;
};

}  // namespace fourbeat::ui
