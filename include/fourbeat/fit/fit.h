// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/fit/budget.h"
#include "fourbeat/fit/encode.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::fit {

/// One piece to be stored.
struct FitInput {
  std::string name;
  audio::Clip clip;  ///< as rendered from the takes
  double playback_db = 0.0;
  double importance = 1.0;
  double share = 0.01;  ///< seconds sounding in the shipped run cards over their total, 0.01 to 1
};

struct FitSound {
  std::string name;
  Encoding encoding;
  std::int64_t bytes = 0;
  std::int64_t loss = 0;          ///< power ratio × importance × share, in units of 1e-9
  std::optional<double> loss_db;  ///< of the power ratio alone
  double importance = 1.0;
  double share = 0.01;
  double baked_db = 0.0;  ///< gain put into the samples where the profile has no playback gain
  EncodedClip encoded;
};

struct FitReport {
  bool fits = false;
  std::int64_t bytes_used = 0;  ///< of the encoding chosen; of the smallest one when none fits
  std::int64_t bytes_available = 0;
  std::int64_t total_loss = 0;
  int max_sounds = 0;
  std::vector<FitSound> sounds;  ///< in the order of the input
};

/// The best uniform encoding (one rate and depth for all) of the profile that fits its bytes and
/// its number of sounds: least total loss, ties to the lower rate, then the lower depth. When none
/// fits, the one with the fewest bytes, and fits is false. A piece's dither is drawn from its name,
/// so its samples do not depend on its place or on the other pieces.
///
/// Where the profile has no playback gain, levels are baked in: each piece at its playback_db, and
/// the whole set by one gain that puts its highest peak 1 dB below full scale.
///
/// speaker: the losses are those that are heard through it; none: flat.
///
/// Works on as many threads as there are processors, at most 8; `job` is called from the calling
/// one. The result does not depend on their number.
/// Errors: bad_argument (importance outside 0.1 … 10, share outside 0.01 … 1, playback_db outside
/// ±120, a profile with no rate or depth), those of encode() with the piece's name as place,
/// cancelled.
[[nodiscard]] Result<FitReport> fit_uniform(
    const std::vector<FitInput>& pieces, const model::DecoderProfile& profile, JobControl& job,
    const std::optional<dsp::SpeakerResponse>& speaker = std::nullopt);

}  // namespace fourbeat::fit
