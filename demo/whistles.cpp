// SPDX-License-Identifier: GPL-3.0-or-later
#include "sounds.h"

#include <algorithm>
#include <array>

namespace fourbeat::demo {

namespace {

constexpr std::array<Pipe, 3> chime_pipes{{{349.0, 1.0}, {440.6, 0.85}, {523.1, 0.75}}};
constexpr std::array<Pipe, 2> shunting_pipes{{{873.0, 1.0}, {1748.5, 0.22}}};
constexpr std::size_t partials = 7;
constexpr std::array<double, partials> partial_gains{1.0, 0.34, 0.42, 0.13, 0.15, 0.06, 0.05};
constexpr double vibrato_hz = 5.2;

/// What all pipes of a blow share: the steam behind it.
struct Steam {
  double pressure;  ///< 0 to 1
  double cents;     ///< off the settled pitch
  double shake;     ///< level, about 1
};

Steam steam_at(double t, const Parts& parts, const Whistle& whistle, double wander) {
  const double rise = smooth_step((t - parts.begin_s) / (0.8 * whistle.rise_s));
  const double fall_place = (t - parts.release_s) / whistle.fall_s;
  const double fall = fall_place <= 0.0 ? 1.0 : 1.0 - smooth_step(fall_place * 1.02);
  const double pressure = rise * fall;
  const double settle = power_of_two(-(t - parts.begin_s) / (0.22 * whistle.rise_s));
  // A valve under 5 Hz of trembling steam: slight, and the same in pitch and level.
  const double tremble = sine_turns(vibrato_hz * t);
  return {pressure,
          -whistle.sag_cents * ((1.0 - fall) + 0.7 * settle) + 2.4 * tremble + 1.2 * wander,
          1.0 + 0.035 * tremble + 0.03 * wander};
}

void blow_pipe(Samples& out, const Parts& parts, const Whistle& whistle, const Pipe& pipe,
               double late_s, double gain, std::uint64_t seed) {
  Random random(seed);
  Wander wander(seed_of(seed, "steam"), 1.6);
  Noise noise(seed_of(seed, "breath"));
  Biquad edge = Biquad::band_pass(std::min(2.0 * pipe.hz, 8000.0), 1.1);
  Biquad hiss = Biquad::high_pass(2200.0);
  double turns = random.uniform();
  const std::int64_t start = frames_of(parts.begin_s + late_s);
  const auto size = static_cast<std::int64_t>(out.size());
  const std::int64_t end = std::min(size, frames_of(parts.end_s));
  Steam steam{};
  double step = 0.0;
  for (std::int64_t i = start; i < end; ++i) {
    const double wandering = wander.next();
    if ((i - start) % 16 == 0) {
      steam = steam_at(static_cast<double>(i) / rate_hz - late_s, parts, whistle, wandering);
      step = pipe.hz * ratio_of_cents(steam.cents) / rate_hz;
    }
    turns += step;
    turns -= std::floor(turns);
    const double p = steam.pressure;
    const double s1 = sine_turns(turns);
    const double c2 = 2.0 * cosine_turns(turns);
    double below = 0.0;
    double here = s1;
    double tone = 0.0;
    double bright = 1.0;
    for (std::size_t h = 0; h < partials; ++h) {
      tone += partial_gains[h] * bright * here;
      const double above = c2 * here - below;
      below = here;
      here = above;
      bright *= 0.35 + 0.65 * p;
    }
    const double white = noise.next();
    // Breath is strongest while the pipe does not yet speak.
    const double air = whistle.breath * (p * (1.0 - 0.6 * p) * 2.0);
    const double y =
        p * steam.shake * tone + air * (1.6 * edge.next(white) + 0.14 * hiss.next(white));
    out[static_cast<std::size_t>(i)] += static_cast<float>(gain * pipe.gain * y);
  }
}

}  // namespace

Whistle chime_whistle() {
  return {chime_pipes, 0.32, 0.60, 170.0, 0.16};
}

Whistle shunting_whistle() {
  return {shunting_pipes, 0.12, 0.28, 240.0, 0.22};
}

Parts blow_whistle(Samples& out, double at_s, double hold_s, const Whistle& whistle, double gain,
                   std::uint64_t seed) {
  const Parts parts{at_s, at_s + whistle.rise_s, at_s + whistle.rise_s + hold_s,
                    at_s + whistle.rise_s + hold_s + whistle.fall_s};
  double late_s = 0.0;
  for (std::size_t k = 0; k < whistle.pipes.size(); ++k) {
    blow_pipe(out, parts, whistle, whistle.pipes[k], late_s, gain, seed + 17 * k);
    late_s += 0.014 * whistle.rise_s / 0.3;
  }
  return parts;
}

double guards_whistle(Samples& out, double at_s, double gain, std::uint64_t seed) {
  // A pea whistle: two close tones, chopped as the pea runs round.
  Random random(seed);
  Noise noise(seed_of(seed, "breath"));
  Biquad air = Biquad::band_pass(2900.0, 1.5);
  const double length_s = 0.85;
  const Swell swell{at_s, 0.05, at_s + length_s, 0.09};
  double low = 0.0;
  double high = 0.3;
  double pea = 0.0;
  Wander lungs(seed_of(seed, "lungs"), 6.0);
  const std::int64_t end =
      std::min(static_cast<std::int64_t>(out.size()), frames_of(at_s + length_s));
  for (std::int64_t i = frames_of(at_s); i < end; ++i) {
    const double level = swell.at(static_cast<double>(i) / rate_hz);
    pea += (38.0 + 4.0 * lungs.next()) * (0.6 + 0.4 * level) / rate_hz;
    const double chop = 0.5 + 0.5 * sine_turns(pea);
    const double bend = (0.93 + 0.07 * level) * (1.0 + 0.018 * (chop - 0.5));
    low += 2310.0 * bend / rate_hz;
    high += 2544.0 * bend / rate_hz;
    const double tone = sine_turns(low) + 0.8 * sine_turns(high) + 0.12 * sine_turns(2.0 * low);
    const double y = level * (0.25 + 0.75 * chop) * tone + 0.5 * level * air.next(noise.next());
    out[static_cast<std::size_t>(i)] += static_cast<float>(0.4 * gain * y);
  }
  return at_s + length_s;
}

}  // namespace fourbeat::demo
