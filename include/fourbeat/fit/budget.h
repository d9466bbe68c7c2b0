// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/decoder_profile.h"

#include <cstdint>
#include <span>

namespace fourbeat::fit {

/// Bytes a stored sound takes: ceil((frames × bits / 8 + overhead) / sector) × sector.
[[nodiscard]] std::int64_t stored_bytes(std::int64_t frames, int bits,
                                        const model::DecoderProfile& profile);

/// Bytes of a set: the sum plus what is fixed.
[[nodiscard]] std::int64_t set_bytes(std::span<const std::int64_t> sound_bytes,
                                     const model::DecoderProfile& profile);

}  // namespace fourbeat::fit
