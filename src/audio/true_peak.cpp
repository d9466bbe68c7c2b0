// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/true_peak.h"

#include "meter.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

namespace fourbeat::audio {

namespace {

/// Samples that the oversampling filter of 49 taps at 4x looks at, with room to spare.
constexpr std::size_t reach = 32;
/// No output of that filter exceeds this many times its largest input: its taps are a windowed
/// sinc, whose magnitudes sum to less than 2.4 in the worst of its phases.
constexpr float overshoot_bound = 2.5F;
constexpr std::size_t piece_length = 1024;

MonoView::iterator largest(MonoView samples) {
  return std::max_element(samples.begin(), samples.end(),
                          [](float a, float b) { return std::fabs(a) < std::fabs(b); });
}

}  // namespace

struct TruePeakMeter::State {
  Meter meter;
  double peak = 0.0;
  std::int64_t peak_frame = 0;
  std::int64_t frame = 0;
  std::array<float, reach> past{};

  Status add(MonoView samples) {
    const auto most = largest(samples);
    if (std::max(std::fabs(*most), std::fabs(*largest(past))) * overshoot_bound >
        static_cast<float>(peak)) {
      double found = 0.0;
      if (ebur128_add_frames_float(meter.get(), past.data(), past.size()) != EBUR128_SUCCESS ||
          ebur128_add_frames_float(meter.get(), samples.data(), samples.size()) !=
              EBUR128_SUCCESS ||
          ebur128_prev_true_peak(meter.get(), 0, &found) != EBUR128_SUCCESS) {
        return Error{ErrorCode::internal, {}, "true peak", "the meter ran out of memory", {}};
      }
      if (found > peak) {
        peak = found;
        peak_frame = frame + (most - samples.begin());
      }
    }
    if (samples.size() >= reach) {
      std::copy(samples.end() - static_cast<std::ptrdiff_t>(reach), samples.end(), past.begin());
    } else {
      std::move(past.begin() + static_cast<std::ptrdiff_t>(samples.size()), past.end(),
                past.begin());
      std::copy(samples.begin(), samples.end(),
                past.end() - static_cast<std::ptrdiff_t>(samples.size()));
    }
    frame += static_cast<std::int64_t>(samples.size());
    return ok();
  }
};

TruePeakMeter::TruePeakMeter(std::unique_ptr<State> state) : state_(std::move(state)) {}
TruePeakMeter::TruePeakMeter(TruePeakMeter&&) noexcept = default;
TruePeakMeter& TruePeakMeter::operator=(TruePeakMeter&&) noexcept = default;
TruePeakMeter::~TruePeakMeter() = default;

Result<TruePeakMeter> TruePeakMeter::make(double sample_rate_hz) {
  if (!(sample_rate_hz >= 1.0 && sample_rate_hz <= 1.0e6)) {
    return Error{ErrorCode::bad_argument, {}, "sample rate", {}, {}};
  }
  // libebur128 begins at 16 Hz.
  const auto rate_hz = static_cast<unsigned long>(std::max<long>(16, std::lround(sample_rate_hz)));
  auto state = std::make_unique<State>();
  state->meter.reset(ebur128_init(1, rate_hz, EBUR128_MODE_TRUE_PEAK));
  if (!state->meter) return Error{ErrorCode::internal, {}, "true peak", "no meter", {}};
  return TruePeakMeter(std::move(state));
}

Status TruePeakMeter::add(MonoView block) {
  for (std::size_t done = 0; done < block.size(); done += piece_length) {
    const MonoView piece = block.subspan(done, std::min(piece_length, block.size() - done));
    if (Status added = state_->add(piece); !added) return added;
  }
  return ok();
}

double TruePeakMeter::peak() const {
  return state_->peak;
}

std::int64_t TruePeakMeter::frame() const {
  return state_->peak_frame;
}

}  // namespace fourbeat::audio
