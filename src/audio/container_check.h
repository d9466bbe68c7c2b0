// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "input_file.h"

#include "fourbeat/base/result.h"

#include <string>
#include <vector>

namespace fourbeat::audio {

enum class Container { wav, rf64, w64, flac, aiff, caf, ogg };

/// What a look at a file's own structure tells before a decoder sees it.
struct ContainerFacts {
  Container kind = Container::wav;
  bool has_broadcast_chunk = false;  ///< `bext` (EBU Tech 3285)
  std::vector<Patch> patches;        ///< how to read the header
  std::int64_t size_bytes = 0;       ///< where the decoder must see the file end
};

/// Checks magic numbers and walks the chunk list, within the file's size and at most 10 000 steps.
/// Sound data that ends behind the file's end is refused; trailing bytes, odd sizes without their
/// pad byte and unknown chunks are not. A WAV whose data chunk
/// has length 0 or 0xFFFFFFFF while bytes follow was never finished by its recorder: truncated.
/// Errors carry no file name: not_audio, truncated, too_short (no sound
/// data), bad_input (rate or channels out of range, no format chunk).
[[nodiscard]] Result<ContainerFacts> check_container(InputFile& file);

}  // namespace fourbeat::audio
