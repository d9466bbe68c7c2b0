// SPDX-License-Identifier: GPL-3.0-or-later
#include "sounds.h"

#include <algorithm>
#include <array>

namespace fourbeat::demo {

namespace {

std::int64_t end_frame(const Samples& out, double end_s) {
  return std::min(static_cast<std::int64_t>(out.size()), frames_of(end_s));
}

double seconds(std::int64_t frame) {
  return static_cast<double>(frame) / rate_hz;
}

constexpr std::array<Mode, 4> valve_knock{
    {{410.0, 0.012, 0.8}, {1130.0, 0.010, 1.0}, {2480.0, 0.007, 0.7}, {5200.0, 0.004, 0.3}}};
constexpr std::array<Mode, 3> dull_thud{
    {{82.0, 0.040, 1.0}, {147.0, 0.028, 0.8}, {330.0, 0.012, 0.3}}};

}  // namespace

Parts lift_safety_valve(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed) {
  constexpr double feather_s = 0.9;
  constexpr double lift_s = 0.25;
  constexpr double close_s = 1.3;
  const Parts parts{at_s, at_s + feather_s + lift_s, at_s + feather_s + lift_s + hold_s,
                    at_s + feather_s + lift_s + hold_s + close_s};
  BandNoise body(seed_of(seed, "body"), 180.0, 900.0);
  BandNoise roar(seed_of(seed, "roar"), 900.0, 4200.0);
  BandNoise tear(seed_of(seed, "tear"), 4200.0, 12000.0);
  Biquad throat = Biquad::band_pass(1620.0, 2.2);
  Wander crackle(seed_of(seed, "crackle"), 240.0);
  Wander feathering(seed_of(seed, "feathering"), 19.0);
  double chatter = 0.0;
  for (std::int64_t i = frames_of(at_s); i < end_frame(out, parts.end_s); ++i) {
    const double t = seconds(i);
    const double before = smooth_step((t - at_s) / feather_s);
    const double flutter = 0.65 + 0.35 * feathering.next();
    const double open = smooth_step((t - at_s - feather_s) / lift_s);
    const double over = 1.0 + 0.5 * power_of_two(-(t - at_s - feather_s) / 0.18) * open;
    const double shut = (t - parts.release_s) / close_s;
    const double closing = 1.0 - smooth_step(shut);
    // Closing, the valve chatters faster and faster on its seat.
    chatter += (9.0 + 14.0 * std::max(0.0, shut)) / rate_hz;
    const double seat =
        shut > 0.0 ? 1.0 - 0.75 * smooth_step(2.0 * shut) * (0.5 + 0.5 * sine_turns(chatter)) : 1.0;
    const double lift = (0.10 * before * flutter * (1.0 - open) + open * over) * closing * seat;
    const double grain = 1.0 + 0.22 * crackle.next();
    const double jet = roar.next();
    const double y = 0.55 * lift * body.next() + grain * (0.9 * jet + 0.8 * throat.next(jet)) +
                     0.55 * std::min(1.0, 0.3 + lift) * tear.next();
    out[static_cast<std::size_t>(i)] += static_cast<float>(gain * 0.3 * lift * y);
  }
  Random random(seed_of(seed, "knock"));
  strike(out, (at_s + feather_s) * rate_hz, dull_thud, 0.006, 0.5 * gain, random);
  strike(out, (parts.end_s - 0.12) * rate_hz, valve_knock, 0.001, 0.12 * gain, random);
  return parts;
}

Jet blower_jet() {
  return {260.0, 5200.0, 690.0, 1.1, 0.45, 0.5, 0.10};
}
Jet drain_cock_jet() {
  return {1400.0, 13000.0, 3300.0, 0.5, 0.12, 0.25, 0.35};
}
Jet brake_release_jet() {
  return {700.0, 8500.0, 1250.0, 0.7, 0.03, 0.75, 0.15};
}
Jet sander_jet() {
  return {2400.0, 11000.0, 4700.0, 0.9, 0.09, 0.18, 0.55};
}

Parts blow_jet(Samples& out, double at_s, double hold_s, const Jet& jet, double gain,
               std::uint64_t seed) {
  const Parts parts{at_s, at_s + jet.rise_s, at_s + jet.rise_s + hold_s,
                    at_s + jet.rise_s + hold_s + jet.fall_s};
  BandNoise wide(seed_of(seed, "wide"), jet.low_hz, jet.high_hz);
  BandNoise tear(seed_of(seed, "tear"), 0.55 * jet.high_hz, 1.4 * jet.high_hz);
  Biquad pipe = Biquad::band_pass(jet.ring_hz, 4.0);
  Wander grain(seed_of(seed, "grain"), 320.0);
  Wander slow(seed_of(seed, "slow"), 5.0);
  for (std::int64_t i = frames_of(at_s); i < end_frame(out, parts.end_s); ++i) {
    const double t = seconds(i);
    const double rise = smooth_step((t - at_s) / jet.rise_s);
    const double fall = 1.0 - smooth_step((t - parts.release_s) / jet.fall_s);
    const double open = rise * fall * fall;
    const double level = open * (1.0 + jet.roughness * grain.next() + 0.05 * slow.next());
    const double x = wide.next();
    const double y = x + jet.ring_gain * pipe.next(x) + 0.4 * open * tear.next();
    out[static_cast<std::size_t>(i)] += static_cast<float>(gain * 0.3 * level * y);
  }
  return parts;
}

void simmer(Samples& out, double at_s, double length_s, double gain, std::uint64_t seed) {
  BandNoise hiss(seed_of(seed, "hiss"), 900.0, 6500.0);
  BandNoise low(seed_of(seed, "low"), 80.0, 420.0);
  Wander boil(seed_of(seed, "boil"), 11.0);
  for (std::int64_t i = frames_of(at_s); i < end_frame(out, at_s + length_s); ++i) {
    const double level = 1.0 + 0.18 * boil.next();
    out[static_cast<std::size_t>(i)] +=
        static_cast<float>(gain * 0.05 * level * (hiss.next() + 0.8 * low.next()));
  }
  // Drops on hot plates and settling fire: small, and many.
  Random random(seed_of(seed, "pops"));
  for (double t = at_s; t < at_s + length_s; t += random.uniform(0.02, 0.11)) {
    const std::array<Mode, 2> pop{{{random.uniform(900.0, 2600.0), 0.004, 1.0},
                                   {random.uniform(2600.0, 6000.0), 0.002, 0.5}}};
    strike(out, t * rate_hz, pop, 0.0004, gain * random.uniform(0.01, 0.05), random);
  }
}

std::vector<double> run_pump(Samples& out, double at_s, int strokes, double period_s, double pitch,
                             double gain, std::uint64_t seed) {
  Random random(seed);
  BandNoise puff(seed_of(seed, "puff"), 260.0 * pitch, 2300.0 * pitch);
  Samples noise(out.size());
  for (float& sample : noise)
    sample = static_cast<float>(puff.next());
  std::vector<double> begins;
  double t = at_s;
  for (int stroke = 0; stroke < strokes; ++stroke) {
    begins.push_back(t);
    const double length_s = period_s * random.uniform(0.97, 1.03);
    for (const bool up : {true, false}) {
      const double half = t + (up ? 0.0 : 0.46 * length_s) + 0.03;
      const double loud = (up ? 1.0 : 0.72) * random.uniform(0.92, 1.08);
      strike(out, half * rate_hz, valve_knock, 0.0008, 0.30 * gain * loud, random);
      strike(out, (half + 0.012) * rate_hz, dull_thud, 0.006, 0.55 * gain * loud, random);
      // The spent steam's puff, then the air drawn in until the piston turns.
      const double keep = decay_per_frame(up ? 0.055 : 0.042, rate_hz);
      double burst = 0.34 * gain * loud;
      const std::int64_t start = frames_of(half + 0.008);
      const std::int64_t end = end_frame(out, half + 0.44 * length_s);
      for (std::int64_t i = start; i < end; ++i) {
        const double place = seconds(i - start) / (0.43 * length_s);
        const double draw = 0.05 * gain * sine_turns(0.5 * std::min(1.0, place));
        const double rise = smooth_step(seconds(i - start) / 0.007);
        out[static_cast<std::size_t>(i)] += static_cast<float>(
            rise * (burst + draw) * static_cast<double>(noise[static_cast<std::size_t>(i)]));
        burst *= keep;
      }
    }
    t += length_s;
  }
  begins.push_back(t);
  return begins;
}

namespace {

/// Water and steam that have not found together: bursts of wet noise.
void splutter(Samples& out, double at_s, double length_s, double gain, std::uint64_t seed) {
  Random random(seed);
  BandNoise wet(seed_of(seed, "wet"), 320.0, 2600.0);
  const Swell swell{at_s, 0.05, at_s + length_s, 0.12};
  Wander bursts(seed_of(seed, "bursts"), 26.0);
  Wander quick(seed_of(seed, "quick"), 90.0);
  for (std::int64_t i = frames_of(at_s); i < end_frame(out, at_s + length_s); ++i) {
    const double gate = std::max(0.0, 0.35 + 0.65 * bursts.next()) * (1.0 + 0.4 * quick.next());
    out[static_cast<std::size_t>(i)] +=
        static_cast<float>(0.30 * gain * swell.at(seconds(i)) * gate * gate * wet.next());
  }
  for (double t = at_s; t < at_s + length_s; t += random.uniform(0.012, 0.05)) {
    const std::array<Mode, 1> drop{{{random.uniform(420.0, 1500.0), 0.008, 1.0}}};
    strike(out, t * rate_hz, drop, 0.001, 0.10 * gain * random.uniform(0.3, 1.0), random);
  }
}

}  // namespace

Parts run_injector(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed) {
  constexpr double prime_s = 0.7;
  constexpr double pick_up_s = 0.6;
  constexpr double stop_s = 0.8;
  const Parts parts{at_s, at_s + prime_s + pick_up_s, at_s + prime_s + pick_up_s + hold_s,
                    at_s + prime_s + pick_up_s + hold_s + stop_s};
  splutter(out, at_s, prime_s + 0.25, gain, seed_of(seed, "prime"));
  splutter(out, parts.release_s + 0.10, stop_s - 0.15, 0.8 * gain, seed_of(seed, "dribble"));
  BandNoise rush(seed_of(seed, "rush"), 500.0, 3800.0);
  BandNoise spray(seed_of(seed, "spray"), 3800.0, 11000.0);
  Noise shiver(seed_of(seed, "shiver"));
  OnePole narrow(26.0);
  Wander wander(seed_of(seed, "wander"), 2.6);
  double turns = 0.0;
  for (std::int64_t i = frames_of(at_s + 0.5 * prime_s); i < end_frame(out, parts.end_s); ++i) {
    const double t = seconds(i);
    const double up = smooth_step((t - at_s - prime_s) / pick_up_s);
    const double down = 1.0 - smooth_step((t - parts.release_s) / 0.35);
    const double on = up * down;
    const double shake = narrow.next(shiver.next());
    const double pitch =
        1168.0 * (0.62 + 0.38 * on) * (1.0 + 0.0022 * wander.next() + 0.05 * shake);
    turns += pitch / rate_hz;
    turns -= std::floor(turns);
    const double song = sine_turns(turns) + 0.55 * sine_turns(2.0 * turns) +
                        0.18 * sine_turns(3.0 * turns) + 0.10 * sine_turns(4.0 * turns);
    const double y = on * on * (1.0 + 1.5 * shake) * 0.20 * song +
                     (0.10 + 0.32 * on) * 0.5 * rush.next() + 0.10 * on * spray.next();
    out[static_cast<std::size_t>(i)] +=
        static_cast<float>(0.5 * gain * down * y * smooth_step((t - at_s - 0.5 * prime_s) / 0.3));
  }
  return parts;
}

double miss_injector(Samples& out, double at_s, double gain, std::uint64_t seed) {
  splutter(out, at_s, 0.75, gain, seed_of(seed, "first"));
  splutter(out, at_s + 0.85, 0.45, 0.7 * gain, seed_of(seed, "second"));
  return at_s + 1.35;
}

Parts fill_tender(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed) {
  constexpr double rise_s = 0.7;
  constexpr double fall_s = 0.9;
  const Parts parts{at_s, at_s + rise_s, at_s + rise_s + hold_s, at_s + rise_s + hold_s + fall_s};
  BandNoise fall(seed_of(seed, "fall"), 240.0, 1900.0);
  BandNoise spray(seed_of(seed, "spray"), 1900.0, 9000.0);
  Biquad tank = Biquad::band_pass(232.0, 5.0);
  Wander gush(seed_of(seed, "gush"), 8.0);
  const Swell swell{at_s, rise_s, parts.end_s, fall_s};
  Random random(seed_of(seed, "bubbles"));
  for (std::int64_t i = frames_of(at_s); i < end_frame(out, parts.end_s); ++i) {
    const double level = swell.at(seconds(i)) * (1.0 + 0.2 * gush.next());
    const double x = fall.next();
    out[static_cast<std::size_t>(i)] +=
        static_cast<float>(0.2 * gain * level * (x + 1.3 * tank.next(x) + 0.22 * spray.next()));
  }
  // Bubbles: rising sines that ring for a few milliseconds (Minnaert 1933).
  for (double t = at_s + 0.2; t < parts.end_s - 0.3; t += random.uniform(0.004, 0.016)) {
    const std::array<Mode, 1> bubble{{{random.uniform(450.0, 2400.0), 0.009, 1.0}}};
    strike(out, t * rate_hz, bubble, 0.0012, 0.12 * gain * random.uniform(0.2, 1.0) * swell.at(t),
           random);
  }
  return parts;
}

}  // namespace fourbeat::demo
