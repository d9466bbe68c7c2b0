// SPDX-License-Identifier: GPL-3.0-or-later
#include "channel_loudness.h"

#include "meter.h"

#include "fourbeat/audio/true_peak.h"
#include "fourbeat/base/decibels.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::audio {

struct ChannelLoudness::State {
  Meter loudness;
  TruePeakMeter true_peak;
};

ChannelLoudness::ChannelLoudness(std::unique_ptr<State> state) : state_(std::move(state)) {}
ChannelLoudness::ChannelLoudness(ChannelLoudness&&) noexcept = default;
ChannelLoudness& ChannelLoudness::operator=(ChannelLoudness&&) noexcept = default;
ChannelLoudness::~ChannelLoudness() = default;

Result<ChannelLoudness> ChannelLoudness::make(double sample_rate_hz) {
  Result<TruePeakMeter> true_peak = TruePeakMeter::make(sample_rate_hz);
  if (!true_peak) return true_peak.error();
  // libebur128 begins at 16 Hz; nothing slower has a loudness.
  const auto rate_hz = static_cast<unsigned long>(std::max<long>(16, std::lround(sample_rate_hz)));
  Meter loudness(ebur128_init(1, rate_hz, EBUR128_MODE_I));
  if (!loudness) return Error{ErrorCode::internal, {}, "loudness", "no meter", {}};
  ebur128_set_channel(loudness.get(), 0, EBUR128_CENTER);
  return ChannelLoudness(
      std::make_unique<State>(State{std::move(loudness), *std::move(true_peak)}));
}

Status ChannelLoudness::add(MonoView block) {
  if (block.empty()) return ok();
  if (ebur128_add_frames_float(state_->loudness.get(), block.data(), block.size()) !=
      EBUR128_SUCCESS) {
    return Error{ErrorCode::internal, {}, "loudness", "the meter ran out of memory", {}};
  }
  return state_->true_peak.add(block);
}

std::optional<double> ChannelLoudness::integrated_lufs() const {
  double value = 0.0;
  if (ebur128_loudness_global(state_->loudness.get(), &value) != EBUR128_SUCCESS ||
      !std::isfinite(value)) {
    return std::nullopt;
  }
  return value;
}

std::optional<double> ChannelLoudness::true_peak_dbtp() const {
  return db_of_amplitude(state_->true_peak.peak());
}

}  // namespace fourbeat::audio
