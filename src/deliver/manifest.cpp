// SPDX-License-Identifier: GPL-3.0-or-later
#include "manifest.h"

#include "digits.h"
#include "names.h"

#include "fourbeat/base/sha256.h"
#include "fourbeat/model/members.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

namespace fourbeat::deliver {

namespace {

Error mismatch(const std::string& place, std::string detail) {
  return Error{ErrorCode::bad_argument, {}, place, std::move(detail), {}};
}

std::vector<std::string> sounds_with(const model::Project& project, Id<model::Segment> segment,
                                     std::set<int>& keys) {
  std::vector<std::string> names;
  for (const model::Sound& sound : project.sounds) {
    const std::vector<Id<model::Segment>> segments = model::segments_of(sound);
    if (std::find(segments.begin(), segments.end(), segment) == segments.end()) continue;
    names.push_back(sound.name);
    for (const model::Key& key : project.keys) {
      if (key.sound == sound.id) keys.insert(key.number);
    }
  }
  return names;
}

int row_number(const model::Project& project, Id<model::ChuffRow> id) {
  const auto& rows = project.chuffs.rows;
  const auto found = std::find_if(rows.begin(), rows.end(),
                                  [&](const model::ChuffRow& row) { return row.id == id; });
  return found == rows.end() ? 0 : static_cast<int>(found - rows.begin()) + 1;
}

Result<ManifestSound> sound_of(const BundleInput& input, std::size_t index, const BundleFile& wav) {
  const model::Piece& piece = input.pieces[index];
  const fit::FitSound& fitted = input.fit.sounds[index];
  const audio::Clip& clip = fitted.encoded.clip;
  if (fitted.name != piece.name) {
    return mismatch(piece.name, fmt::format("the fit has “{}” in its place", fitted.name));
  }
  const double rate_hz = clip.sample_rate_hz;
  if (!(rate_hz >= 1.0) || rate_hz > 768'000.0 || rate_hz != std::floor(rate_hz)) {
    return mismatch(piece.name, "its rate is no whole number of hertz");
  }
  ManifestSound sound;
  sound.name = piece.name;
  sound.file = wav.path;
  sound.sha256 = sha256_hex(wav.content);
  sound.category = model::word_of(piece.category);
  sound.sample_rate_hz = static_cast<int>(rate_hz);
  sound.bits = clip.bits;
  sound.file_bits = file_bits_of(clip.bits);
  if (sound.file_bits == 0) {
    return mismatch(piece.name, fmt::format("{} bits are not a stored depth", clip.bits));
  }
  sound.frames = static_cast<std::int64_t>(clip.samples.size());
  sound.bytes = fitted.bytes;
  const double on_top_db = input.profile.has_playback_gain ? piece.playback_db : 0.0;
  sound.playback_gain_db = rounded(fitted.encoded.playback_gain_db + on_top_db, 2);
  sound.loop = clip.loop;
  if (piece.key.segment.is_set()) {
    std::set<int> keys;
    sound.sounds = sounds_with(input.project, piece.key.segment, keys);
    sound.keys.assign(keys.begin(), keys.end());
  } else {
    const bool fused = piece.key.revolution == model::fused_revolution;
    const int number = row_number(input.project, piece.key.row);
    ChuffUse use{
        number, fused ? 0 : piece.key.revolution + 1, fused ? 0 : piece.key.position + 1, {}, {}};
    if (number >= 1) {
      const model::ChuffRow& row = input.project.chuffs.rows[static_cast<std::size_t>(number - 1)];
      use.condition = model::word_of(row.condition);
      if (row.derived) use.recorded_kmh = rounded(row.derived->recorded_kmh, 2);
    }
    sound.chuffs.push_back(std::move(use));
  }
  return sound;
}

}  // namespace

int file_bits_of(int bits) {
  if (bits < 1 || bits > 24) return 0;
  return bits <= 8 ? 8 : bits <= 16 ? 16 : 24;
}

Result<Manifest> manifest_of(const BundleInput& input, const std::vector<BundleFile>& wavs) {
  if (input.pieces.size() != input.fit.sounds.size() || wavs.size() != input.pieces.size()) {
    return mismatch("pieces", fmt::format("{} pieces, {} sounds in the fit", input.pieces.size(),
                                          input.fit.sounds.size()));
  }
  Manifest manifest;
  manifest.generator_name = "Fourbeat";
  manifest.generator_version = FOURBEAT_VERSION;
  manifest.title = input.project.title;
  manifest.author = input.project.author;
  manifest.date = input.project.date;
  manifest.engine = input.project.engine;
  manifest.engine.extra.clear();
  manifest.engine.effort.reset();
  manifest.engine.scale_ratio.reset();
  manifest.decoder = input.profile;
  manifest.bytes_used = input.fit.bytes_used;
  manifest.bytes_available = input.fit.bytes_available;
  manifest.unsigned_seams = input.unsigned_seams;
  manifest.snags = input.snags;
  for (std::size_t i = 0; i < input.pieces.size(); ++i) {
    Result<ManifestSound> sound = sound_of(input, i, wavs[i]);
    if (!sound) return sound.error();
    manifest.sounds.push_back(std::move(*sound));
  }
  return manifest;
}

}  // namespace fourbeat::deliver
