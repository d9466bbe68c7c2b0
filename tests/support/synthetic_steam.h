// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <numbers>
#include <optional>
#include <vector>

namespace fourbeat::tests {

/// An engine as a microphone might hear it, with every beat time known.
struct SteamParams {
  double sample_rate_hz = 48000.0;
  double seconds = 20.0;
  std::uint64_t seed = 1;

  /// Mean beats a second at a time; 0: standing. Default: steady 4.
  std::function<double(double)> rate_hz = [](double) { return 4.0; };
  int beats_per_rev = 4;
  std::vector<double> angles_deg;     ///< one a beat of the revolution; empty: even
  std::vector<double> levels_db;      ///< one a beat of the revolution; empty: all 0
  std::vector<double> colours_hz;     ///< one a beat of the revolution; empty: all colour_hz
  std::optional<double> start_turns;  ///< of the wheel at 0 s; nothing: drawn from the seed
  double jitter_deg = 0.0;            ///< standard deviation of a beat's angle, of a revolution
  double level_jitter_db = 1.0;

  double peak_db = -12.0;     ///< RMS of a beat at its peak, over full scale
  double depth_db = 20.0;     ///< a beat's peak over the background
  double rise_s = 0.006;      ///< of the attack, linear in dB over depth_db
  double decay_s = 0.08;      ///< to 1/e of amplitude, and never more than half the interval
  double colour_hz = 1500.0;  ///< corner of the steam's one-pole low-pass
  double room = 0.0;          ///< 0 to 1: reflections' amplitude against the direct sound
  double hum_db = -200.0;     ///< a 50 Hz hum with three overtones
  double wind_db = -200.0;    ///< slow rumble under 60 Hz, its level wandering
  double floor_colour_hz = 800.0;
};

struct Steam {
  double sample_rate_hz = 0.0;
  std::vector<float> samples;
  std::vector<double> beats_s;  ///< middle, in dB, of each attack
  std::vector<int> positions;   ///< place of each in the revolution
};

namespace detail {

/// White noise of RMS 1 through a one-pole low-pass, brought back to RMS 1.
class Noise {
 public:
  Noise(std::uint64_t seed, double corner_hz, double sample_rate_hz)
      : random_(seed), pole_(std::exp(-2.0 * std::numbers::pi * corner_hz / sample_rate_hz)) {
    gain_ = std::sqrt((1.0 - pole_ * pole_));
  }
  double next() {
    // Sum of four uniforms: near enough to a Gaussian, of variance 1/3 each.
    double x = 0.0;
    for (int i = 0; i < 4; ++i)
      x += random_.uniform(-1.0, 1.0);
    state_ = pole_ * state_ + gain_ * x * std::sqrt(0.75);
    return state_;
  }

 private:
  Random random_;
  double pole_;
  double gain_ = 1.0;
  double state_ = 0.0;
};

/// Twelve reflections within 80 ms and a tail by two feedback delays.
inline void add_room(std::vector<float>& samples, double sample_rate_hz, double amount,
                     std::uint64_t seed) {
  Random random(seed);
  const std::vector<float> dry = samples;
  for (int i = 0; i < 12; ++i) {
    const double delay_s = random.uniform(0.003, 0.08);
    const double gain = amount * random.uniform(0.2, 0.7) * std::exp(-delay_s / 0.04) *
                        (random.uniform() < 0.5 ? -1.0 : 1.0);
    const auto delay = static_cast<std::size_t>(delay_s * sample_rate_hz);
    for (std::size_t n = delay; n < samples.size(); ++n)
      samples[n] += static_cast<float>(gain) * dry[n - delay];
  }
  for (const double delay_s : {0.0371, 0.0533}) {
    const auto delay = static_cast<std::size_t>(delay_s * sample_rate_hz);
    std::vector<float> tail(samples.size(), 0.0F);
    for (std::size_t n = delay; n < samples.size(); ++n)
      tail[n] = static_cast<float>(0.6 * amount) * tail[n - delay] + dry[n - delay];
    for (std::size_t n = 0; n < samples.size(); ++n)
      samples[n] += static_cast<float>(0.25 * amount) * tail[n];
  }
}

}  // namespace detail

/// Beat times and sound of an engine; the same for the same parameters.
inline Steam synthetic_steam(const SteamParams& params) {
  const double rate = params.sample_rate_hz;
  const auto frames = static_cast<std::size_t>(params.seconds * rate);
  Steam steam;
  steam.sample_rate_hz = rate;
  Random random(params.seed);
  const int per_rev = params.beats_per_rev;

  struct Event {
    double time_s;
    double interval_s;
    double level_db;
    int position;
  };
  std::vector<Event> events;
  double turned = random.uniform();  // revolutions
  turned = params.start_turns.value_or(turned);
  const auto angle_of = [&](int position) {
    return params.angles_deg.empty() ? 360.0 * position / per_rev
                                     : params.angles_deg[static_cast<std::size_t>(position)];
  };
  double revolution = std::floor(turned);
  int position = 0;
  while (position < per_rev && revolution + angle_of(position) / 360.0 < turned)
    ++position;
  if (position == per_rev) {
    position = 0;
    revolution += 1.0;
  }
  double offset = params.jitter_deg * random.normal() / 360.0;
  constexpr double tick_s = 0.0002;
  for (std::size_t tick = 0; static_cast<double>(tick) * tick_s < params.seconds; ++tick) {
    const double time_s = static_cast<double>(tick) * tick_s;
    const double beat_rate = params.rate_hz(time_s);
    const double before = turned;
    turned += beat_rate / per_rev * tick_s;
    const double target = revolution + angle_of(position) / 360.0 + offset;
    if (beat_rate > 0.0 && target < turned) {
      const double part = std::clamp((target - before) / (turned - before), 0.0, 1.0);
      const double level =
          (params.levels_db.empty() ? 0.0 : params.levels_db[static_cast<std::size_t>(position)]) +
          params.level_jitter_db * random.normal();
      events.push_back({time_s + part * tick_s, 1.0 / beat_rate, level, position});
      if (++position == per_rev) {
        position = 0;
        revolution += 1.0;
      }
      offset = params.jitter_deg * random.normal() / 360.0;
    }
  }

  // One source of noise a colour, each with its envelope.
  const std::size_t colours = std::max<std::size_t>(1, params.colours_hz.size());
  std::vector<std::vector<float>> envelopes(colours, std::vector<float>(frames, 0.0F));
  const double floor_gain = gain_of_db(params.peak_db - params.depth_db);
  for (const Event& event : events) {
    const double peak = gain_of_db(params.peak_db + event.level_db);
    const double rise = std::max(1.0 / rate, params.rise_s);
    const double start_s = event.time_s - rise / 2.0;
    const double decay = std::min(params.decay_s, 0.5 * event.interval_s);
    std::vector<float>& envelope = envelopes[static_cast<std::size_t>(event.position) % colours];
    for (auto n = static_cast<std::int64_t>(start_s * rate); n < static_cast<std::int64_t>(frames);
         ++n) {
      const double since = static_cast<double>(n) / rate - start_s;
      if (n < 0 || since < 0.0) continue;
      if (since > rise + 8.0 * decay) break;
      const double gain = since < rise ? peak * gain_of_db(params.depth_db * (since / rise - 1.0))
                                       : peak * std::exp(-(since - rise) / decay);
      float& at = envelope[static_cast<std::size_t>(n)];
      at = std::max(at, static_cast<float>(gain));
    }
    steam.beats_s.push_back(event.time_s);
    steam.positions.push_back(event.position);
  }

  steam.samples.resize(frames);
  for (std::size_t c = 0; c < colours; ++c) {
    const double colour_hz = params.colours_hz.empty() ? params.colour_hz : params.colours_hz[c];
    detail::Noise source(params.seed * 7 + 1 + 1000 * c, colour_hz, rate);
    for (std::size_t n = 0; n < frames; ++n)
      steam.samples[n] += envelopes[c][n] * static_cast<float>(source.next());
  }
  if (params.room > 0.0) detail::add_room(steam.samples, rate, params.room, params.seed * 7 + 2);
  detail::Noise background(params.seed * 7 + 3, params.floor_colour_hz, rate);
  detail::Noise rumble(params.seed * 7 + 4, 30.0, rate);
  detail::Noise gusts(params.seed * 7 + 5, 0.3, rate);
  for (std::size_t n = 0; n < frames; ++n) {
    double x = floor_gain * background.next();
    if (params.hum_db > -200.0) {
      const double angle = 2.0 * std::numbers::pi * 50.0 * static_cast<double>(n) / rate;
      x += gain_of_db(params.hum_db) * (std::sin(angle) + 0.5 * std::sin(2.0 * angle) +
                                        0.3 * std::sin(3.0 * angle) + 0.2 * std::sin(4.0 * angle));
    }
    const double gust = gusts.next();
    const double wind = rumble.next();
    if (params.wind_db > -200.0) x += gain_of_db(params.wind_db + 6.0 * gust) * wind;
    steam.samples[n] += static_cast<float>(x);
  }
  return steam;
}

/// Sounds with nothing that beats.
enum class Unbeaten { hiss, hum, wind, speech, clicks };

/// hiss: steady steam; hum: mains; wind: rumble in gusts; speech: syllables of noise and voice of
/// irregular length (3 to 8 a second) with pauses; clicks: at random (a Poisson process, 3 a s).
inline std::vector<float> unbeaten_sound(Unbeaten kind, double seconds, double sample_rate_hz,
                                         std::uint64_t seed) {
  SteamParams still;
  still.sample_rate_hz = sample_rate_hz;
  still.seconds = seconds;
  still.seed = seed;
  still.rate_hz = [](double) { return 0.0; };
  still.depth_db = kind == Unbeaten::hiss ? 0.0 : 40.0;
  if (kind == Unbeaten::hum) still.hum_db = -20.0;
  if (kind == Unbeaten::wind) still.wind_db = -15.0;
  std::vector<float> samples = synthetic_steam(still).samples;
  const auto frames = static_cast<std::int64_t>(samples.size());
  Random random(seed * 13 + 5);
  detail::Noise breath(seed * 13 + 6, 2500.0, sample_rate_hz);
  if (kind == Unbeaten::speech) {
    double time_s = random.uniform(0.0, 0.5);
    while (time_s < seconds) {
      const double length_s = random.uniform(0.09, 0.26);
      const double gain = gain_of_db(random.uniform(-26.0, -12.0));
      const double pitch_hz = random.uniform(90.0, 220.0);
      const double voiced = random.uniform();
      const double rise_s = random.uniform(0.005, 0.04);
      const auto first = static_cast<std::int64_t>(time_s * sample_rate_hz);
      const auto count = static_cast<std::int64_t>(length_s * sample_rate_hz);
      for (std::int64_t i = 0; i < count && first + i < frames; ++i) {
        const double t = static_cast<double>(i) / sample_rate_hz;
        const double shape =
            std::min(1.0, t / rise_s) * std::min(1.0, (length_s - t) / (0.4 * length_s));
        double voice = 0.0;
        for (int k = 1; k <= 12; ++k)
          voice += std::sin(2.0 * std::numbers::pi * pitch_hz * k * t) / k;
        samples[static_cast<std::size_t>(first + i)] +=
            static_cast<float>(gain * shape * (voiced * voice + (1.0 - voiced) * breath.next()));
      }
      time_s += length_s + random.uniform(0.0, 0.12);
      if (random.uniform() < 0.15) time_s += random.uniform(0.2, 1.2);
    }
  }
  if (kind == Unbeaten::clicks) {
    double time_s = 0.0;
    while (true) {
      time_s -= std::log(1.0 - random.uniform()) / 3.0;
      if (time_s >= seconds) break;
      const double gain = gain_of_db(random.uniform(-20.0, -6.0));
      const auto first = static_cast<std::int64_t>(time_s * sample_rate_hz);
      for (std::int64_t i = 0; first + i < frames; ++i) {
        const double decay = std::exp(-static_cast<double>(i) / sample_rate_hz / 0.02);
        if (decay < 1e-3) break;
        samples[static_cast<std::size_t>(first + i)] +=
            static_cast<float>(gain * decay * breath.next());
      }
    }
  }
  return samples;
}

}  // namespace fourbeat::tests
