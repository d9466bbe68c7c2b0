// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace fourbeat::model {

/// What a decoder demands of a loop.
struct LoopRules {
  std::int64_t min_frames = 1;
  std::int64_t multiple_of_frames = 1;  ///< a loop's length must be a whole multiple of this
  bool operator==(const LoopRules&) const = default;
};

/// The budget and the habits of a decoder. Profiles that ship with Fourbeat are invented classes.
struct DecoderProfile {
  std::string id;
  std::string name;
  bool invented = true;
  std::int64_t memory_bytes = 0;    ///< for sounds, all told
  std::int64_t fixed_bytes = 0;     ///< taken before the first sound
  std::int64_t sector_bytes = 1;    ///< a sound fills whole sectors
  std::int64_t overhead_bytes = 0;  ///< beside each sound's samples
  int voices = 1;                   ///< sounds at once
  int output_rate_hz = 0;
  std::vector<int> sample_rates_hz;  ///< ascending; each divides into the output as it may
  std::vector<int> bits;             ///< depths offered, ascending: 8, 12, 16
  int highest_key = 28;
  int max_sounds = 0;              ///< stored pieces
  bool chuffs_may_overlap = true;  ///< false: a chuff must end before the next beat
  bool has_playback_gain = true;   ///< false: levels are baked into the samples
  LoopRules loop;
  bool operator==(const DecoderProfile&) const = default;
};

}  // namespace fourbeat::model
