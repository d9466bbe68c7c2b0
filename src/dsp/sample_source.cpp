// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/sample_source.h"

#include <fmt/format.h>

#include <cstddef>
#include <cstdint>

namespace fourbeat::dsp {

Result<audio::MonoView> SampleSource::read(FrameRange range) {
  if (range.start <= range.end && frame_range(0, frames().value()).contains(range))
    return fetch(range);
  return Error{ErrorCode::bad_argument, "",
               fmt::format("frames {} to {}", range.start.value(), range.end.value()),
               fmt::format("there are {}", frames().value()), ""};
}

FrameCount MemorySource::frames() const {
  return FrameCount(static_cast<std::int64_t>(samples_.size()));
}

Result<audio::MonoView> MemorySource::fetch(const FrameRange& range) {
  return samples_.subspan(static_cast<std::size_t>(range.start.value()),
                          static_cast<std::size_t>(range.length().value()));
}

Result<audio::MonoView> PartSource::fetch(const FrameRange& range) {
  const FrameCount offset = part_.start - FrameIndex(0);
  return whole_.read({range.start + offset, range.end + offset});
}

}  // namespace fourbeat::dsp
