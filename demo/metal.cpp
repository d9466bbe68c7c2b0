// SPDX-License-Identifier: GPL-3.0-or-later
#include "sounds.h"

#include <algorithm>
#include <array>

namespace fourbeat::demo {

namespace {

constexpr std::array<Mode, 8> bell_metal{{{331.0, 1.30, 0.5},
                                          {664.0, 0.85, 0.9},
                                          {665.1, 0.85, 0.6},
                                          {799.0, 0.60, 0.7},
                                          {1003.0, 0.40, 0.45},
                                          {1342.0, 0.45, 0.8},
                                          {2010.0, 0.22, 0.5},
                                          {2766.0, 0.14, 0.35}}};
constexpr std::array<Mode, 6> heavy_iron{{{118.0, 0.060, 1.0},
                                          {287.0, 0.085, 0.9},
                                          {611.0, 0.110, 0.7},
                                          {1145.0, 0.070, 0.6},
                                          {1987.0, 0.045, 0.45},
                                          {3420.0, 0.022, 0.3}}};
constexpr std::array<Mode, 5> plate{{{171.0, 0.045, 1.0},
                                     {398.0, 0.038, 0.8},
                                     {823.0, 0.030, 0.7},
                                     {1690.0, 0.020, 0.5},
                                     {3150.0, 0.010, 0.35}}};
constexpr std::array<Mode, 4> latch{
    {{1240.0, 0.012, 0.8}, {2390.0, 0.010, 1.0}, {3985.0, 0.007, 0.7}, {6420.0, 0.004, 0.4}}};
constexpr std::array<Mode, 4> chain_link{
    {{1710.0, 0.030, 0.7}, {2930.0, 0.028, 0.9}, {4480.0, 0.018, 0.7}, {7150.0, 0.010, 0.4}}};
constexpr std::array<Mode, 5> shovel_blade{{{612.0, 0.050, 0.6},
                                            {1130.0, 0.070, 1.0},
                                            {2045.0, 0.055, 0.8},
                                            {3290.0, 0.035, 0.6},
                                            {5080.0, 0.018, 0.4}}};
constexpr std::array<Mode, 3> thud{{{64.0, 0.050, 1.0}, {131.0, 0.035, 0.8}, {262.0, 0.018, 0.4}}};

std::int64_t end_frame(const Samples& out, double end_s) {
  return std::min(static_cast<std::int64_t>(out.size()), frames_of(end_s));
}

void hit(Samples& out, double at_s, std::span<const Mode> body, double contact_s, double gain,
         Random& random) {
  strike(out, at_s * rate_hz, body, contact_s, gain, random);
}

/// One body drawn over another: rough noise that sets its modes ringing.
void scrape(Samples& out, double at_s, double length_s, std::span<const Mode> body, double low_hz,
            double high_hz, double grains_hz, double gain, std::uint64_t seed) {
  BandNoise grit(seed_of(seed, "grit"), low_hz, high_hz);
  Wander grains(seed_of(seed, "grains"), grains_hz);
  const Swell swell{at_s, 0.25 * length_s, at_s + length_s, 0.35 * length_s};
  std::vector<Biquad> ring;
  for (const Mode& mode : body) {
    ring.push_back(Biquad::band_pass(mode.hz, std::max(2.0, 3.1 * mode.hz * mode.tau_s)));
  }
  for (std::int64_t i = frames_of(at_s); i < end_frame(out, at_s + length_s); ++i) {
    const double level = swell.at(static_cast<double>(i) / rate_hz);
    const double g = std::max(0.0, 0.4 + 0.6 * grains.next());
    const double x = level * g * g * grit.next();
    double y = 0.7 * x;
    for (std::size_t k = 0; k < ring.size(); ++k)
      y += 1.6 * body[k].gain * ring[k].next(x);
    out[static_cast<std::size_t>(i)] += static_cast<float>(0.35 * gain * y);
  }
}

/// Lumps falling: many small knocks, thick at first.
void tumble(Samples& out, double at_s, double length_s, int lumps, double gain, Random& random) {
  for (int k = 0; k < lumps; ++k) {
    const double place = random.uniform();
    const double t = at_s + length_s * place * (0.35 + 0.65 * place);
    const double size = random.uniform();
    const double hz = 420.0 + 2900.0 * (1.0 - size) * random.uniform(0.5, 1.0);
    const std::array<Mode, 3> lump{
        {{hz, 0.0045 + 0.004 * size, 1.0}, {1.83 * hz, 0.003, 0.6}, {3.4 * hz, 0.0015, 0.35}}};
    hit(out, t, lump, 0.0006 + 0.0012 * size, gain * (0.25 + 0.75 * size * size), random);
  }
}

}  // namespace

double bell_stroke(Samples& out, double at_s, double gain, Random& random) {
  hit(out, at_s, bell_metal, 0.0007, 1.5 * gain, random);
  hit(out, at_s, latch, 0.0003, 0.10 * gain, random);
  return at_s + 2.2;
}

Parts ring_bell(Samples& out, double at_s, int strokes, double gain, std::uint64_t seed) {
  Random random(seed);
  constexpr double swing_s = 0.72;
  double t = at_s;
  double second = at_s;
  for (int k = 0; k < strokes; ++k) {
    // To and fro: the clapper meets one side later and a little softer.
    bell_stroke(out, t + random.uniform(-0.006, 0.006), (k % 2 == 0 ? 1.0 : 0.82) * gain, random);
    t += swing_s * (k % 2 == 0 ? 0.96 : 1.04);
    if (k == 1) second = t;
  }
  return {at_s, second - 0.02, t - 0.02, t + 1.6};
}

double coupler_clank(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  double t = at_s + 0.02;
  for (int k = 0; k < 5; ++k) {
    hit(out, t, chain_link, 0.0006, 0.22 * gain * random.uniform(0.5, 1.0), random);
    t += random.uniform(0.03, 0.07);
  }
  hit(out, t + 0.05, heavy_iron, 0.0018, 1.5 * gain, random);
  hit(out, t + 0.05, chain_link, 0.0007, 0.4 * gain, random);
  hit(out, t + 0.17, heavy_iron, 0.0022, 0.5 * gain, random);
  for (int k = 0; k < 4; ++k) {
    hit(out, t + 0.2 + 0.06 * k * random.uniform(0.8, 1.2), chain_link, 0.0006,
        0.2 * gain / (1.0 + k), random);
  }
  return at_s + 1.0;
}

double buffers_touch(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  for (int k = 0; k < 4; ++k) {
    const double t = at_s + 0.02 + 0.19 * k * random.uniform(0.85, 1.15);
    const double loud = gain * (k == 0 ? 1.0 : 0.55 / k);
    hit(out, t, thud, 0.007, 1.3 * loud, random);
    hit(out, t, heavy_iron, 0.0028, 0.9 * loud, random);
    hit(out, t + 0.011, heavy_iron, 0.002, 0.5 * loud, random);
  }
  return at_s + 1.0;
}

double cab_door(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  scrape(out, at_s, 0.34, plate, 500.0, 2600.0, 55.0, 0.22 * gain, seed_of(seed, "hinge"));
  hit(out, at_s + 0.36, plate, 0.003, 1.1 * gain, random);
  hit(out, at_s + 0.362, thud, 0.006, 0.7 * gain, random);
  hit(out, at_s + 0.40, latch, 0.0005, 0.4 * gain, random);
  hit(out, at_s + 0.47, latch, 0.0005, 0.25 * gain, random);
  return at_s + 0.75;
}

double fire_doors(Samples& out, double at_s, bool open, double gain, std::uint64_t seed) {
  Random random(seed);
  const double slide_s = 0.28;
  if (open) hit(out, at_s + 0.01, latch, 0.0008, 0.4 * gain, random);
  scrape(out, at_s + 0.03, slide_s, heavy_iron, 400.0, 4200.0, 75.0, 0.4 * gain,
         seed_of(seed, "slide"));
  hit(out, at_s + 0.03 + slide_s, heavy_iron, 0.0016, (open ? 0.9 : 1.25) * gain, random);
  hit(out, at_s + 0.036 + slide_s, plate, 0.002, 0.5 * gain, random);
  hit(out, at_s + 0.11 + slide_s, heavy_iron, 0.0016, 0.25 * gain, random);
  return at_s + 0.85;
}

double shovel_coal(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  scrape(out, at_s, 0.38, shovel_blade, 900.0, 6500.0, 130.0, 0.9 * gain, seed_of(seed, "push"));
  tumble(out, at_s + 0.12, 0.3, 30, 0.16 * gain, random);
  hit(out, at_s + 0.86, shovel_blade, 0.0008, 0.7 * gain, random);
  hit(out, at_s + 0.862, plate, 0.002, 0.4 * gain, random);
  tumble(out, at_s + 0.88, 0.42, 46, 0.25 * gain, random);
  return at_s + 1.5;
}

double coal_slides(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  scrape(out, at_s, 1.2, plate, 300.0, 3200.0, 95.0, 0.35 * gain, seed_of(seed, "slide"));
  tumble(out, at_s + 0.03, 1.25, 190, 0.34 * gain, random);
  hit(out, at_s + 0.2, thud, 0.008, 0.5 * gain, random);
  return at_s + 1.5;
}

double rake_fire(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  for (int stroke = 0; stroke < 2; ++stroke) {
    const double t = at_s + 0.78 * stroke;
    hit(out, t + 0.01, shovel_blade, 0.0007, 0.5 * gain, random);
    scrape(out, t + 0.03, 0.5, shovel_blade, 600.0, 5200.0, 70.0, 0.75 * gain,
           seed_of(seed, stroke == 0 ? "out" : "back"));
    tumble(out, t + 0.15, 0.4, 14, 0.14 * gain, random);
  }
  return at_s + 1.65;
}

double hand_brake(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  double t = at_s + 0.02;
  double wait = 0.085;
  for (int k = 0; k < 10; ++k) {
    hit(out, t, latch, 0.0006, 0.7 * gain * random.uniform(0.8, 1.1), random);
    hit(out, t + 0.003, plate, 0.002, 0.28 * gain, random);
    t += wait * random.uniform(0.93, 1.07);
    wait *= 1.06;
  }
  scrape(out, t - 0.25, 0.4, plate, 350.0, 2100.0, 34.0, 0.3 * gain, seed_of(seed, "bite"));
  return t + 0.25;
}

double reverser(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  double t = at_s + 0.02;
  hit(out, t, latch, 0.0007, 0.6 * gain, random);
  for (int k = 0; k < 16; ++k) {
    t += 0.045 * random.uniform(0.92, 1.08) * (k < 3 || k > 12 ? 1.5 : 1.0);
    hit(out, t, latch, 0.0005, (k % 4 == 0 ? 0.5 : 0.27) * gain, random);
  }
  scrape(out, at_s + 0.08, t - at_s, latch, 900.0, 3800.0, 40.0, 0.10 * gain,
         seed_of(seed, "screw"));
  hit(out, t + 0.10, plate, 0.0015, 0.55 * gain, random);
  return t + 0.35;
}

double lamp_on_iron(Samples& out, double at_s, double gain, std::uint64_t seed) {
  Random random(seed);
  hit(out, at_s + 0.02, latch, 0.0006, 0.7 * gain, random);
  hit(out, at_s + 0.055, chain_link, 0.0006, 0.35 * gain, random);
  hit(out, at_s + 0.12, latch, 0.0008, 0.9 * gain, random);
  hit(out, at_s + 0.125, plate, 0.0015, 0.3 * gain, random);
  return at_s + 0.4;
}

namespace {

/// Steel crying on steel: lines that wander together, break up and come again.
struct Cry {
  double hz;
  double gain;
};

void cry(Samples& out, const Swell& swell, std::span<const Cry> lines, double bend, double break_up,
         double gain, std::uint64_t seed) {
  Wander pitch(seed_of(seed, "pitch"), 1.7);
  Wander grip(seed_of(seed, "grip"), 7.0);
  Wander rough(seed_of(seed, "rough"), 68.0);
  BandNoise rub(seed_of(seed, "rub"), 700.0, 7000.0);
  std::vector<double> turns(lines.size(), 0.0);
  for (std::int64_t i = frames_of(swell.on_s); i < end_frame(out, swell.end_s); ++i) {
    const double t = static_cast<double>(i) / rate_hz;
    const double level = swell.at(t);
    const double slide =
        1.0 + bend * ((t - swell.on_s) / (swell.end_s - swell.on_s) - 0.5) + 0.006 * pitch.next();
    const double held = std::max(0.0, 1.0 - break_up * (0.5 + 0.5 * grip.next()));
    const double grain = 1.0 + 0.5 * rough.next();
    double y = 0.0;
    for (std::size_t k = 0; k < lines.size(); ++k) {
      turns[k] += lines[k].hz * slide / rate_hz;
      turns[k] -= std::floor(turns[k]);
      const double s = sine_turns(turns[k]);
      y += lines[k].gain * (s + 0.25 * sine_turns(2.0 * turns[k]));
    }
    y = held * grain * y + 0.22 * (0.4 + held) * rub.next();
    out[static_cast<std::size_t>(i)] += static_cast<float>(0.3 * gain * level * y);
  }
}

}  // namespace

double brake_squeal(Samples& out, double at_s, double gain, std::uint64_t seed) {
  constexpr std::array<Cry, 5> lines{
      {{1186.0, 0.4}, {2147.0, 1.0}, {2176.0, 0.45}, {3463.0, 0.5}, {5217.0, 0.22}}};
  const double length_s = 2.2;
  cry(out, {at_s, 0.5, at_s + length_s, 0.25}, lines, -0.05, 0.9, gain, seed);
  Random random(seed);
  hit(out, at_s + length_s - 0.02, heavy_iron, 0.003, 0.5 * gain, random);
  return at_s + length_s + 0.4;
}

Parts flange_squeal(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed) {
  constexpr std::array<Cry, 5> lines{
      {{1873.0, 0.5}, {2891.0, 0.9}, {2934.0, 0.5}, {4368.0, 0.6}, {6607.0, 0.3}}};
  const Parts parts{at_s, at_s + 0.4, at_s + 0.4 + hold_s, at_s + 0.8 + hold_s};
  cry(out, {at_s, 0.4, parts.end_s, 0.4}, lines, 0.0, 0.55, gain, seed);
  return parts;
}

}  // namespace fourbeat::demo
