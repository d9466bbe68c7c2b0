// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/fit/encode.h"

#include "plan.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"

#include <fmt/format.h>

#include <algorithm>

namespace fourbeat::fit {

namespace {

/// A clip that never gets above this (-140 dBFS) is silence and is stored as zeros.
constexpr double silence_peak = 1.0e-7;

double peak_of(const std::vector<float>& samples) {
  double peak = 0.0;
  for (const float sample : samples)
    peak = std::max(peak, std::abs(static_cast<double>(sample)));
  return peak;
}

Status check_encoding(Encoding encoding, const model::DecoderProfile& profile) {
  const auto offers = [](const std::vector<int>& offered, int value) {
    return std::find(offered.begin(), offered.end(), value) != offered.end();
  };
  if (offers(profile.sample_rates_hz, encoding.sample_rate_hz) &&
      offers(profile.bits, encoding.bits) && encoding.bits >= 4 && encoding.bits <= 24) {
    return ok();
  }
  return Error{ErrorCode::bad_argument,
               {},
               {},
               fmt::format("{} Hz with {} bits on the decoder “{}”", encoding.sample_rate_hz,
                           encoding.bits, profile.id),
               "choose a rate and a depth that the decoder offers"};
}

}  // namespace

std::uint64_t dither_seed(std::string_view name) {
  // FNV-1a (Fowler, Noll and Vo), 64 bits.
  std::uint64_t hash = 0xcbf29ce484222325ULL;
  for (const char c : name) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001b3ULL;
  }
  return hash;
}

EncodedClip quantise(const std::vector<float>& samples, const ResamplePlan& plan, Encoding encoding,
                     bool has_playback_gain, std::uint64_t seed) {
  EncodedClip encoded;
  encoded.clip.sample_rate_hz = encoding.sample_rate_hz;
  encoded.clip.bits = encoding.bits;
  encoded.clip.samples.assign(samples.size(), 0.0F);
  encoded.loop_turns = plan.loop_turns;
  if (plan.loop_frames > 0) {
    encoded.clip.loop = frame_range(plan.loop_start, plan.frames);
  }
  const double peak = peak_of(samples);
  if (peak < silence_peak) return encoded;

  // Dither reaches less than one step either way and rounding half a step, so a peak two steps
  // below the end of the scale never leaves it.
  const double steps = std::ldexp(1.0, encoding.bits - 1);
  const double room = (steps - 2.0) / steps;
  double gain = 1.0;
  if (has_playback_gain) {
    gain = room / peak;
    encoded.playback_gain_db = -*db_of_amplitude(gain);
  } else if (peak > room) {
    gain = room / peak;
  }
  Random random(seed);
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double dither = random.uniform() + random.uniform() - 1.0;
    const double level = std::floor(static_cast<double>(samples[i]) * gain * steps + dither + 0.5);
    encoded.clip.samples[i] = static_cast<float>(level / steps);
  }
  return encoded;
}

Result<EncodedClip> encode(const audio::Clip& source, Encoding encoding,
                           const model::DecoderProfile& profile, std::uint64_t seed) {
  if (const Status checked = check_encoding(encoding, profile); !checked) return checked.error();
  const Result<ResamplePlan> plan = plan_resampling(source, encoding.sample_rate_hz, profile.loop);
  if (!plan) return plan.error();
  const Result<std::vector<float>> samples = resample_clip(source, *plan);
  if (!samples) return samples.error();
  return quantise(*samples, *plan, encoding, profile.has_playback_gain, seed);
}

}  // namespace fourbeat::fit
