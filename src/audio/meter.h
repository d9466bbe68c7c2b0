// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <ebur128.h>

#include <memory>

namespace fourbeat::audio {

struct DestroyMeter {
  void operator()(ebur128_state* meter) const { ebur128_destroy(&meter); }
};

/// A meter of libebur128, destroyed with its owner.
using Meter = std::unique_ptr<ebur128_state, DestroyMeter>;

}  // namespace fourbeat::audio
