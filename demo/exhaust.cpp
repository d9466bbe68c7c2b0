// SPDX-License-Identifier: GPL-3.0-or-later
#include "exhaust.h"

#include <algorithm>
#include <array>

namespace fourbeat::demo {

namespace {

constexpr std::size_t bands = 4;

/// What a blast is like in one band: how loud its burst (the cylinder let go) and its flow (the
/// piston pushing the rest out) are, and how fast it attacks and dies, at an effort.
struct BandShape {
  double low_hz, high_hz;
  double burst_soft_db, burst_hard_db;  ///< at effort 0 and 1
  double flow_soft_db, flow_hard_db;
  double attack_ms;
  double decay;  ///< times the common decay
};

constexpr std::array<BandShape, bands> shapes{{
    {48.0, 170.0, -16.0, 1.0, -14.0, -5.0, 5.0, 1.35},
    {170.0, 650.0, -20.0, 0.0, -16.0, -4.5, 3.4, 1.10},
    {650.0, 2400.0, -32.0, -4.0, -28.0, -9.5, 2.2, 0.90},
    {2400.0, 8500.0, -44.0, -13.0, -40.0, -18.5, 1.5, 0.70},
}};

/// Each beat of the revolution has its own voice: valves are never set quite alike.
struct Accent {
  double gain_db;
  double edge_db;
  double length;
};
constexpr std::array<Accent, 4> accents{
    {{1.6, 1.4, 1.08}, {-1.3, -2.0, 0.94}, {0.5, 0.6, 1.02}, {-0.9, 0.2, 0.92}}};

double gain_between(double soft_db, double hard_db, double effort) {
  // In decibels, most of the way early.
  return exact_gain_of_db(soft_db + (hard_db - soft_db) * effort * (1.35 - 0.35 * effort));
}

struct Blast {
  std::int64_t start;
  double interval_s;
  double effort;
  double gain;
  Accent accent;
};

void add_envelope(Samples& envelope, const Blast& blast, const BandShape& shape, bool edge) {
  const double slack = 2.2 - 1.2 * std::min(1.0, blast.effort * 1.6);
  const double attack = shape.attack_ms * 0.001 * slack * rate_hz;
  const double burst_tau = std::clamp(0.11 * blast.interval_s, 0.006, 0.030) * shape.decay;
  const double flow_tau =
      std::clamp(0.22 * blast.interval_s, 0.011, 0.085) * shape.decay * blast.accent.length;
  const double flow_hold = std::clamp(0.22 * blast.interval_s, 0.0, 0.10) * blast.accent.length;
  const double edge_gain = edge ? exact_gain_of_db(blast.accent.edge_db) : 1.0;
  double burst =
      gain_between(shape.burst_soft_db, shape.burst_hard_db, blast.effort) * blast.gain * edge_gain;
  double flow =
      gain_between(shape.flow_soft_db, shape.flow_hard_db, blast.effort) * blast.gain * edge_gain;
  const double burst_keep = decay_per_frame(burst_tau, rate_hz);
  const double flow_keep = decay_per_frame(flow_tau, rate_hz);
  const double hold_keep = decay_per_frame(6.0 * flow_tau, rate_hz);
  const std::int64_t hold = frames_of(flow_hold);
  const std::int64_t length = hold + frames_of(9.0 * flow_tau);
  const auto size = static_cast<std::int64_t>(envelope.size());
  const std::int64_t end = std::min(size, blast.start + length);
  for (std::int64_t i = std::max<std::int64_t>(0, blast.start); i < end; ++i) {
    const std::int64_t n = i - blast.start;
    const double rise = smooth_step(static_cast<double>(n) / attack);
    envelope[static_cast<std::size_t>(i)] += static_cast<float>(rise * (burst + flow));
    burst *= burst_keep;
    flow *= n < hold ? hold_keep : flow_keep;
  }
}

double effort_at(const std::vector<double>& effort, double frame) {
  const auto i = static_cast<std::size_t>(std::max(0.0, frame));
  return effort.empty() ? 0.0 : effort[std::min(i, effort.size() - 1)];
}

std::vector<Blast> blasts_of(const std::vector<WheelMoment>& beats,
                             const std::vector<double>& effort, std::uint64_t seed) {
  Random random(seed);
  std::vector<Blast> out;
  for (std::size_t k = 0; k < beats.size(); ++k) {
    const double next =
        k + 1 < beats.size() ? beats[k + 1].frame : 2.0 * beats[k].frame - beats[k - 1].frame;
    const Accent& accent = accents[static_cast<std::size_t>(beats[k].position) % accents.size()];
    const double e = effort_at(effort, beats[k].frame);
    // The faster, the shorter the cut-off and the less steam a stroke.
    const double speed_db = -0.10 * beats[k].speed_kmh;
    const double gain_db = accent.gain_db + speed_db + random.uniform(-0.5, 0.5);
    out.push_back({std::llround(beats[k].frame), (next - beats[k].frame) / rate_hz, e,
                   exact_gain_of_db(gain_db), accent});
  }
  return out;
}

}  // namespace

double attack_s(double effort) {
  return -0.0007 + 0.0022 * (1.0 - std::min(1.0, effort * 1.6));
}

Samples exhaust(const std::vector<WheelMoment>& beats, const std::vector<double>& effort,
                std::uint64_t seed) {
  Samples out(effort.size());
  if (beats.size() < 2) return out;
  const std::vector<Blast> blasts = blasts_of(beats, effort, seed_of(seed, "blasts"));
  Samples envelope(effort.size());
  for (std::size_t b = 0; b < bands; ++b) {
    std::fill(envelope.begin(), envelope.end(), 0.0F);
    for (const Blast& blast : blasts)
      add_envelope(envelope, blast, shapes[b], b >= 2);
    BandNoise noise(seed_of(seed, "band") + b, shapes[b].low_hz, shapes[b].high_hz);
    // Turbulence: the jet tears into clouds, slower ones in the lower bands.
    Wander clouds(seed_of(seed, "clouds") + b, 40.0 + 60.0 * static_cast<double>(b));
    for (std::size_t i = 0; i < out.size(); ++i) {
      const double breath = 0.005 * (0.3 + effort[i]);
      const double level = static_cast<double>(envelope[i]) * (1.0 + 0.35 * clouds.next()) + breath;
      out[i] += static_cast<float>(level * noise.next());
    }
  }
  // The chimney and the smokebox sound along: their air resonates.
  std::array<Biquad, 4> pipes{Biquad::band_pass(86.0, 5.0), Biquad::band_pass(171.0, 4.0),
                              Biquad::band_pass(368.0, 4.5), Biquad::band_pass(905.0, 3.0)};
  constexpr std::array<double, 4> pipe_gains{0.9, 0.7, 0.9, 0.5};
  for (float& sample : out) {
    const auto x = static_cast<double>(sample);
    double y = x;
    for (std::size_t k = 0; k < pipes.size(); ++k)
      y += pipe_gains[k] * pipes[k].next(x);
    sample = static_cast<float>(y);
  }
  return out;
}

Samples rods(const std::vector<WheelMoment>& knocks, const std::vector<double>& effort,
             std::uint64_t seed) {
  constexpr std::array<Mode, 6> big_end{{{318.0, 0.010, 1.0},
                                         {742.0, 0.013, 0.9},
                                         {1265.0, 0.010, 0.8},
                                         {2110.0, 0.008, 0.7},
                                         {3390.0, 0.006, 0.5},
                                         {5150.0, 0.004, 0.35}}};
  constexpr std::array<Mode, 5> coupling_rod{{{1105.0, 0.015, 0.8},
                                              {1780.0, 0.014, 0.9},
                                              {2860.0, 0.012, 0.7},
                                              {4320.0, 0.008, 0.5},
                                              {6800.0, 0.005, 0.3}}};
  constexpr std::array<double, 4> wear{1.0, 0.45, 0.72, 0.38};
  Samples out(effort.size());
  Random random(seed);
  for (const WheelMoment& knock : knocks) {
    const double e = effort_at(effort, knock.frame);
    const double speed = std::min(1.0, 0.25 + knock.speed_kmh / 55.0);
    const double gain = wear[static_cast<std::size_t>(knock.position) % wear.size()] * speed *
                        (1.0 - 0.55 * e) * random.uniform(0.8, 1.2);
    strike(out, knock.frame, big_end, 0.0008, 0.36 * gain, random);
    const double late = random.uniform(0.002, 0.004) * rate_hz;
    strike(out, knock.frame + late, coupling_rod, 0.0004, 0.24 * gain, random);
  }
  return out;
}

Samples rolling(const std::vector<double>& speed_kmh, std::uint64_t seed) {
  constexpr std::array<Mode, 4> joint{
      {{74.0, 0.030, 1.0}, {212.0, 0.022, 0.8}, {540.0, 0.012, 0.4}, {1480.0, 0.005, 0.2}}};
  constexpr double rail_m = 15.0;
  constexpr std::array<double, 3> axles_m{0.0, 2.0, 4.1};
  Samples out(speed_kmh.size());
  BandNoise rumble(seed_of(seed, "rumble"), 45.0, 240.0);
  BandNoise grind(seed_of(seed, "grind"), 240.0, 1600.0);
  Wander road(seed_of(seed, "road"), 3.0);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double pace = speed_kmh[i] / 60.0;
    const double level = 0.055 * pace * (1.0 + 0.3 * road.next());
    out[i] = static_cast<float>(level * (rumble.next() + 0.35 * pace * grind.next()));
  }
  Random random(seed_of(seed, "joints"));
  const std::vector<double> rails = turns_run(speed_kmh, rail_m);
  for (const double axle_m : axles_m) {
    double next = 0.4 + axle_m / rail_m;
    for (std::size_t i = 0; i < rails.size(); ++i) {
      if (rails[i] < next) continue;
      next += 1.0;
      const double gain = std::min(1.0, speed_kmh[i] / 45.0) * random.uniform(0.6, 1.0);
      strike(out, static_cast<double>(i), joint, 0.004, 0.16 * gain, random);
    }
  }
  return out;
}

Samples gland(const std::vector<double>& wheel_turns, const std::vector<double>& effort,
              std::uint64_t seed) {
  Samples out(effort.size());
  BandNoise hiss(seed, 2500.0, 9000.0);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double stroke = 0.5 + 0.5 * cosine_turns(wheel_turns[i] - 0.15);
    out[i] = static_cast<float>(0.016 * effort[i] * stroke * stroke * hiss.next());
  }
  return out;
}

Samples fire(const std::vector<double>& effort, std::uint64_t seed) {
  Samples out(effort.size());
  BandNoise roar(seed_of(seed, "roar"), 60.0, 320.0);
  BandNoise breath(seed_of(seed, "breath"), 400.0, 2600.0);
  Wander flame(seed_of(seed, "flame"), 7.0);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double level = 0.05 * (0.5 + effort[i]) * (1.0 + 0.4 * flame.next());
    out[i] = static_cast<float>(level * (roar.next() + 0.25 * breath.next()));
  }
  return out;
}

}  // namespace fourbeat::demo
