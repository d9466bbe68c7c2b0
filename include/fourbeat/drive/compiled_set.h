// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/piece.h"

#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::drive {

/// The sound of a piece as the decoder plays it. playback_gain_db restores the level the piece was
/// rendered at; the gain of the sound (or chuff table) that plays it comes on top.
struct PieceSound {
  model::PieceKey key;
  audio::Clip clip;
  double playback_gain_db = 0.0;
};

/// Flat, immutable image of a set for one decoder: what render() reads. Defined in
/// compiled_set.cpp's own header src/drive/image.h; others only carry it.
struct CompiledSet;

/// Compiles a project and the sounds of its pieces: clips brought to the profile's output rate
/// (loops kept whole), gains joined, keys and rows turned into tables. A key or row whose sound is
/// missing plays silence, as do keys above the profile's highest. Off the audio thread; allocates.
/// Errors: bad_argument (output rate outside 1 … 384 kHz, voices outside 1 … 256, engine, clip or
/// gain out of range), not_finite (a sample), those of resample().
[[nodiscard]] Result<std::shared_ptr<const CompiledSet>> compile(
    const model::Project& project, const model::DecoderProfile& profile,
    const std::vector<PieceSound>& sounds);

/// Whether two images are the same to the last sample: whatever drives them cannot tell them apart.
[[nodiscard]] bool is_same(const CompiledSet& a, const CompiledSet& b);

}  // namespace fourbeat::drive
