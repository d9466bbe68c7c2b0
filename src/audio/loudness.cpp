// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/audio/loudness.h"

#include "k_weighting.h"
#include "meter.h"

#include "fourbeat/base/decibels.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

namespace fourbeat::audio {

namespace {

constexpr int most_channels = 64;
constexpr double least_rate_hz = 16.0;
constexpr double largest_rate_hz = 2'822'400.0;
constexpr double loudness_offset_db = -0.691;

std::optional<double> if_finite(double value) {
  if (!std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace

struct LoudnessMeter::State {
  Meter meter;
  std::size_t channels = 0;
  std::size_t hop_frames = 0;
  std::size_t in_hop = 0;
  std::int64_t hops = 0;
  double max_momentary = -std::numeric_limits<double>::infinity();
  double max_short_term = -std::numeric_limits<double>::infinity();
  std::vector<float> interleaved;

  void end_of_hop() {
    ++hops;
    double value = 0.0;
    if (hops >= 4 && ebur128_loudness_momentary(meter.get(), &value) == EBUR128_SUCCESS) {
      max_momentary = std::max(max_momentary, value);
    }
    if (hops >= 30 && ebur128_loudness_shortterm(meter.get(), &value) == EBUR128_SUCCESS) {
      max_short_term = std::max(max_short_term, value);
    }
  }
};

LoudnessMeter::LoudnessMeter(std::unique_ptr<State> state) : state_(std::move(state)) {}
LoudnessMeter::LoudnessMeter(LoudnessMeter&&) noexcept = default;
LoudnessMeter& LoudnessMeter::operator=(LoudnessMeter&&) noexcept = default;
LoudnessMeter::~LoudnessMeter() = default;

Result<LoudnessMeter> LoudnessMeter::make(int channels, double sample_rate_hz,
                                          ChannelWeights weights) {
  const bool surround = weights == ChannelWeights::surround_5_0;
  if (channels < 1 || channels > most_channels || (surround && channels != 5)) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "channels",
                 fmt::format("{}; {}", channels, surround ? "5.0 has five" : "1 to 64"),
                 {}};
  }
  if (!(sample_rate_hz >= least_rate_hz && sample_rate_hz <= largest_rate_hz)) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "sample rate",
                 fmt::format("{} Hz; {} to {}", sample_rate_hz, least_rate_hz, largest_rate_hz),
                 {}};
  }
  const auto rate_hz = static_cast<unsigned long>(std::lround(sample_rate_hz));
  auto state = std::make_unique<State>();
  state->meter.reset(
      ebur128_init(static_cast<unsigned>(channels), rate_hz,
                   EBUR128_MODE_I | EBUR128_MODE_S | EBUR128_MODE_LRA | EBUR128_MODE_TRUE_PEAK));
  if (!state->meter) return Error{ErrorCode::internal, {}, "loudness", "no meter", {}};
  state->channels = static_cast<std::size_t>(channels);
  state->hop_frames = std::max<std::size_t>(1, (rate_hz + 5) / 10);
  for (int c = 0; c < channels; ++c) {
    int place = EBUR128_CENTER;
    if (surround && c == 3) place = EBUR128_LEFT_SURROUND;
    if (surround && c == 4) place = EBUR128_RIGHT_SURROUND;
    ebur128_set_channel(state->meter.get(), static_cast<unsigned>(c), place);
  }
  return LoudnessMeter(std::move(state));
}

Status LoudnessMeter::add(const Pcm& block) {
  State& state = *state_;
  if (block.channels.size() != state.channels) {
    return Error{ErrorCode::bad_argument,
                 {},
                 "channels",
                 fmt::format("{} in a programme of {}", block.channels.size(), state.channels),
                 {}};
  }
  const std::size_t total = block.channels.front().size();
  for (const std::vector<float>& channel : block.channels) {
    if (channel.size() != total) {
      return Error{ErrorCode::bad_argument, {}, "channels", "of unequal length", {}};
    }
    const auto bad = std::find_if(channel.begin(), channel.end(),
                                  [](float sample) { return !std::isfinite(sample); });
    if (bad != channel.end()) {
      return Error{
          ErrorCode::not_finite, {}, fmt::format("frame {}", bad - channel.begin()), {}, {}};
    }
  }
  for (std::size_t done = 0; done < total;) {
    const std::size_t step = std::min(state.hop_frames - state.in_hop, total - done);
    state.interleaved.resize(step * state.channels);
    for (std::size_t c = 0; c < state.channels; ++c) {
      for (std::size_t i = 0; i < step; ++i)
        state.interleaved[i * state.channels + c] = block.channels[c][done + i];
    }
    if (ebur128_add_frames_float(state.meter.get(), state.interleaved.data(), step) !=
        EBUR128_SUCCESS) {
      return Error{ErrorCode::internal, {}, "loudness", "the meter ran out of memory", {}};
    }
    state.in_hop += step;
    done += step;
    if (state.in_hop == state.hop_frames) {
      state.in_hop = 0;
      state.end_of_hop();
    }
  }
  return ok();
}

Loudness LoudnessMeter::figures() const {
  const State& state = *state_;
  Loudness loudness;
  double value = 0.0;
  if (ebur128_loudness_global(state.meter.get(), &value) == EBUR128_SUCCESS) {
    loudness.integrated_lufs = if_finite(value);
  }
  loudness.max_momentary_lufs = if_finite(state.max_momentary);
  loudness.max_short_term_lufs = if_finite(state.max_short_term);
  if (loudness.integrated_lufs && loudness.max_short_term_lufs &&
      ebur128_loudness_range(state.meter.get(), &value) == EBUR128_SUCCESS) {
    loudness.range_lu = if_finite(value);
  }
  double peak = 0.0;
  for (std::size_t c = 0; c < state.channels; ++c) {
    if (ebur128_true_peak(state.meter.get(), static_cast<unsigned>(c), &value) == EBUR128_SUCCESS) {
      peak = std::max(peak, value);
    }
  }
  loudness.true_peak_dbtp = db_of_amplitude(peak);
  return loudness;
}

std::array<Biquad, 2> k_weighting(double sample_rate_hz) {
  std::array<Biquad, 2> stages;
  {
    constexpr double centre_hz = 1681.974450955533;
    constexpr double gain_db = 3.999843853973347;
    constexpr double q = 0.7071752369554196;
    if (sample_rate_hz > 2.0 * 2000.0) {
      const double k = std::tan(std::numbers::pi * centre_hz / sample_rate_hz);
      const double high = std::pow(10.0, gain_db / 20.0);
      const double band = std::pow(high, 0.4996667741545416);
      const double a0 = 1.0 + k / q + k * k;
      stages[0] = {(high + band * k / q + k * k) / a0, 2.0 * (k * k - high) / a0,
                   (high - band * k / q + k * k) / a0, 2.0 * (k * k - 1.0) / a0,
                   (1.0 - k / q + k * k) / a0};
    }
  }
  {
    constexpr double corner_hz = 38.13547087602444;
    constexpr double q = 0.5003270373238773;
    const double k = std::tan(std::numbers::pi * corner_hz / sample_rate_hz);
    const double a0 = 1.0 + k / q + k * k;
    stages[1] = {1.0, -2.0, 1.0, 2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0};
  }
  return stages;
}

std::optional<double> k_weighted_energy_db(MonoView samples, double sample_rate_hz) {
  if (!(sample_rate_hz >= 100.0 && sample_rate_hz <= 1.0e6)) return std::nullopt;
  const std::array<Biquad, 2> stages = k_weighting(sample_rate_hz);
  std::array<std::array<double, 2>, 2> memory{};
  double sum = 0.0;
  for (const float sample : samples) {
    double x = static_cast<double>(sample);
    for (std::size_t s = 0; s < stages.size(); ++s) {
      // Transposed direct form II.
      const double y = stages[s].b0 * x + memory[s][0];
      memory[s][0] = stages[s].b1 * x - stages[s].a1 * y + memory[s][1];
      memory[s][1] = stages[s].b2 * x - stages[s].a2 * y;
      x = y;
    }
    sum += x * x;
  }
  const std::optional<double> energy_db = db_of_power(sum / sample_rate_hz);
  if (!energy_db) return std::nullopt;
  return *energy_db + loudness_offset_db;
}

}  // namespace fourbeat::audio
