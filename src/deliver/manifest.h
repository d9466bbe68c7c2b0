// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/check/snag.h"
#include "fourbeat/deliver/bundle.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/engine.h"

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

/// manifest.json of a bundle as a value, and its text both ways.

namespace fourbeat::deliver {

/// Places of a chuff: row, revolution and position count from 1. The loop of a fused row has 0 for
/// both of the latter.
struct ChuffUse {
  int row = 0;
  int revolution = 0;
  int position = 0;
  std::string condition;               ///< the row's, as in chuffs.csv
  std::optional<double> recorded_kmh;  ///< of a derived row: the speed it was made from
  bool operator==(const ChuffUse&) const = default;
};

struct ManifestSound {
  std::string name;
  std::string file;
  std::string sha256;
  std::string category;
  int sample_rate_hz = 0;
  int bits = 0;       ///< as the decoder stores it
  int file_bits = 0;  ///< of the WAV: 8, 16 or 24
  std::int64_t frames = 0;
  std::int64_t bytes = 0;  ///< as the decoder stores it
  double playback_gain_db = 0.0;
  std::optional<FrameRange> loop;
  std::vector<std::string> sounds;  ///< that play it, by name
  std::vector<int> keys;            ///< that play it, ascending
  std::vector<ChuffUse> chuffs;
  bool operator==(const ManifestSound&) const = default;
};

struct Manifest {
  std::string generator_name;
  std::string generator_version;
  std::string title;
  std::string author;
  std::string date;
  model::Engine engine;
  model::DecoderProfile decoder;
  std::int64_t bytes_used = 0;
  std::int64_t bytes_available = 0;
  std::vector<ManifestSound> sounds;
  std::vector<std::string> unsigned_seams;
  std::vector<check::Snag> snags;
  bool operator==(const Manifest&) const = default;
};

/// The manifest of an input; digests are those of `wavs`, the files of its pieces in order.
/// Errors: as make_bundle().
[[nodiscard]] Result<Manifest> manifest_of(const BundleInput& input,
                                           const std::vector<BundleFile>& wavs);

/// Depth of the WAV that holds a piece of `bits`: the next of 8, 16 and 24; 0 above that.
[[nodiscard]] int file_bits_of(int bits);

/// UTF-8 JSON, two blanks indent, keys in a fixed order, numbers as docs/formats.md says.
[[nodiscard]] std::string manifest_text(const Manifest& manifest);

/// Reads such a text; unknown members are passed over. Every number is range-checked.
/// Errors: bad_input (place: a JSON Pointer, or line and column), too_deep, newer_version.
[[nodiscard]] Result<Manifest> parse_manifest(std::string_view text);

}  // namespace fourbeat::deliver
