// SPDX-License-Identifier: GPL-3.0-or-later
#include "stage.h"

#include <algorithm>
#include <array>
#include <utility>

namespace fourbeat::demo {

double distance_m(const Place& a, const Place& b) {
  const double x = a.x_m - b.x_m;
  const double y = a.y_m - b.y_m;
  const double z = a.z_m - b.z_m;
  return std::sqrt(x * x + y * y + z * z);
}

std::int64_t delay_frames(const Place& from, const Place& to) {
  return frames_of(distance_m(from, to) / sound_speed_m_s);
}

Stage::Stage(std::int64_t frames, std::vector<Microphone> microphones,
             const Surroundings& surroundings, std::uint64_t seed)
    : microphones_(std::move(microphones)),
      surroundings_(surroundings),
      seed_(seed),
      channels_(microphones_.size(), Samples(static_cast<std::size_t>(frames))),
      send_(static_cast<std::size_t>(frames)) {}

namespace {

/// Adds `source`, `delay` frames later, through low-passes for the air and the cab's walls.
void add_path(Samples& out, const Samples& source, std::int64_t delay, double gain, double air_hz,
              double wall_hz) {
  OnePole air(std::min(air_hz, 20000.0));
  Biquad wall = Biquad::low_pass(wall_hz > 0.0 ? wall_hz : 20000.0);
  const auto size = static_cast<std::int64_t>(out.size());
  const std::int64_t count = std::min(static_cast<std::int64_t>(source.size()), size - delay);
  // Far below what a float keeps beside the recorder's hiss; without it the filters run into
  // denormal numbers in silence, which are some ten times slower.
  constexpr double floor = 1e-30;
  for (std::int64_t i = 0; i < count; ++i) {
    double x = air.next(static_cast<double>(source[static_cast<std::size_t>(i)]) + floor);
    if (wall_hz > 0.0) x = wall.next(x);
    out[static_cast<std::size_t>(i + delay)] += static_cast<float>(gain * x);
  }
}

}  // namespace

void Stage::play(const Samples& source, const Place& from, double gain, bool indoors) {
  for (std::size_t m = 0; m < microphones_.size(); ++m) {
    const Microphone& mic = microphones_[m];
    const bool mic_indoors = mic.outside_hz > 0.0;
    const double wall_hz = mic_indoors != indoors ? (mic_indoors ? mic.outside_hz : 2500.0) : 0.0;
    const double straight = distance_m(from, mic.place);
    add_path(channels_[m], source, frames_of(straight / sound_speed_m_s),
             gain / std::max(0.3, straight), 18000.0 / (1.0 + 0.12 * straight), wall_hz);
    const Place image{from.x_m, from.y_m, -from.z_m};
    const double bounced = distance_m(image, mic.place);
    add_path(channels_[m], source, frames_of(bounced / sound_speed_m_s),
             gain * surroundings_.ground_gain / std::max(0.3, bounced), 3500.0, wall_hz);
    if (surroundings_.echo_gain > 0.0) {
      const double wait = surroundings_.echo_s * (1.0 + 0.07 * static_cast<double>(m));
      add_path(channels_[m], source, frames_of(wait), gain * surroundings_.echo_gain, 2500.0,
               wall_hz);
    }
  }
  add(send_, source, gain);
}

void Stage::blow(double gain, const Samples& strength) {
  for (std::size_t m = 0; m < microphones_.size(); ++m) {
    if (microphones_[m].wind <= 0.0) continue;
    const std::uint64_t seed = seed_of(seed_, "wind") + m;
    BandNoise rumble(seed, 14.0, 55.0);
    BandNoise flap(seed + 101, 60.0, 240.0);
    Wander slow(seed + 202, 0.35);
    Wander quick(seed + 303, 2.1);
    Samples& out = channels_[m];
    const double level = gain * microphones_[m].wind;
    for (std::size_t i = 0; i < out.size(); ++i) {
      const double force = strength.empty() ? 1.0 : static_cast<double>(strength[i]);
      const double gust = 0.5 + 0.5 * slow.next();
      const double flutter = 0.7 + 0.3 * quick.next();
      const double push = level * force * gust * gust * flutter;
      out[i] += static_cast<float>(push * (rumble.next() + 0.25 * push * flap.next()));
    }
  }
}

void Stage::whine(double hz, double level) {
  for (std::size_t m = 0; m < microphones_.size(); ++m) {
    if (microphones_[m].outside_hz > 0.0) continue;
    double turns = 0.13 * static_cast<double>(m);
    Wander drift(seed_of(seed_, "whine"), 0.2);
    Samples& out = channels_[m];
    for (float& sample : out) {
      turns += hz * (1.0 + 0.0004 * drift.next()) / rate_hz;
      turns -= std::floor(turns);
      sample += static_cast<float>(level * (sine_turns(turns) + 0.3 * sine_turns(2.0 * turns)));
    }
  }
}

void Stage::reverberate() {
  // A feedback delay network of four lines under a Hadamard matrix (after Stautner and Puckette
  // 1982, Jot 1991); each microphone listens to its own mix of the lines.
  constexpr std::array<std::size_t, 4> lengths{1483, 1871, 2293, 2713};
  std::array<std::vector<double>, 4> lines;
  std::array<double, 4> keep{};
  std::vector<OnePole> damp;
  for (std::size_t k = 0; k < 4; ++k) {
    lines[k].assign(lengths[k], 0.0);
    keep[k] =
        exact_gain_of_db(-60.0 * static_cast<double>(lengths[k]) / rate_hz / surroundings_.tail_s);
    damp.emplace_back(3800.0);
  }
  std::array<std::size_t, 4> at{};
  constexpr std::array<std::array<double, 4>, 4> ears{
      {{1, -1, 1, 1}, {1, 1, -1, 1}, {-1, 1, 1, 1}, {1, 1, 1, -1}}};
  for (std::size_t i = 0; i < send_.size(); ++i) {
    std::array<double, 4> out{};
    for (std::size_t k = 0; k < 4; ++k)
      out[k] = damp[k].next(lines[k][at[k]]) * keep[k];
    const double a = out[0] + out[1];
    const double b = out[0] - out[1];
    const double c = out[2] + out[3];
    const double d = out[2] - out[3];
    const std::array<double, 4> back{0.5 * (a + c), 0.5 * (b + d), 0.5 * (a - c), 0.5 * (b - d)};
    const auto x = static_cast<double>(send_[i]);
    for (std::size_t k = 0; k < 4; ++k) {
      lines[k][at[k]] = x + back[k] + 1e-20;
      at[k] = at[k] + 1 == lengths[k] ? 0 : at[k] + 1;
    }
    for (std::size_t m = 0; m < channels_.size(); ++m) {
      const auto& ear = ears[m % 4];
      channels_[m][i] +=
          static_cast<float>(surroundings_.tail_gain * (ear[0] * out[0] + ear[1] * out[1] +
                                                        ear[2] * out[2] + ear[3] * out[3]));
    }
  }
}

audio::Pcm Stage::finish(std::span<const double> gains, double hiss_dbfs) {
  reverberate();
  const double hiss = exact_gain_of_db(hiss_dbfs);
  for (std::size_t m = 0; m < channels_.size(); ++m) {
    Samples& out = channels_[m];
    const double gain = gains[m];
    Noise noise(seed_of(seed_, "hiss") + m);
    double turns = 0.21 * static_cast<double>(m);
    const double hum = microphones_[m].hum;
    OnePole drift(9.0);  // a microphone passes no steady pressure
    for (float& sample : out) {
      const double pressure = gain * static_cast<double>(sample);
      double x = pressure - drift.next(pressure) + hiss * noise.next();
      if (hum > 0.0) {
        turns += 50.02 / rate_hz;
        turns -= std::floor(turns);
        x += hum * (sine_turns(turns) + 0.5 * sine_turns(2.0 * turns + 0.1) +
                    0.35 * sine_turns(3.0 * turns + 0.3) + 0.12 * sine_turns(5.0 * turns));
      }
      sample = static_cast<float>(x);
    }
  }
  audio::Pcm pcm;
  pcm.sample_rate_hz = rate_hz;
  pcm.channels = std::move(channels_);
  return pcm;
}

}  // namespace fourbeat::demo
