// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/field_take.h"

#include "support/field_sounds.h"
#include "support/synthetic_steam.h"

#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <numbers>
#include <span>
#include <utility>

namespace fourbeat::tests {

namespace {

constexpr std::array<std::string_view, field_conditions> names = {"clean",
                                                                  "6 dB over background",
                                                                  "0 dB over background",
                                                                  "pump over the beats",
                                                                  "whistle over the beats",
                                                                  "safety valve over the beats",
                                                                  "wind",
                                                                  "mains hum",
                                                                  "clipping",
                                                                  "dropouts",
                                                                  "passing noise",
                                                                  "start from rest",
                                                                  "express",
                                                                  "stop and restart",
                                                                  "slip",
                                                                  "uneven valve events",
                                                                  "two beats a revolution",
                                                                  "three beats a revolution",
                                                                  "four beats a revolution",
                                                                  "six beats a revolution",
                                                                  "eight beats a revolution",
                                                                  "three microphones",
                                                                  "drifting, no beat",
                                                                  "standing, no beat"};

using Law = std::function<double(double)>;

/// A rate that wanders slowly about its middle.
Law wandering(double middle_hz, Random& random) {
  const double depth = random.uniform(0.0, 0.25);
  const double period_s = random.uniform(25.0, 60.0);
  const double phase = random.uniform(0.0, 2.0 * std::numbers::pi);
  return [=](double t) {
    return middle_hz * (1.0 + depth * std::sin(2.0 * std::numbers::pi * t / period_s + phase));
  };
}

/// Standing, then steady acceleration to a top rate.
Law starting(double at_s, double per_s2, double top_hz) {
  return [=](double t) { return t < at_s ? 0.0 : std::min(top_hz, per_s2 * (t - at_s)); };
}

/// Slows evenly to a stand, waits, and starts again.
Law stop_and_restart(double running_hz, Random& random) {
  const double brake_s = random.uniform(10.0, 14.0);
  const double brake_hz_s = random.uniform(0.3, 0.6);
  const double stand_s = brake_s + running_hz / brake_hz_s;
  const double start_s = stand_s + random.uniform(4.0, 9.0);
  const double per_s2 = random.uniform(0.25, 0.5);
  return [=](double t) {
    if (t < brake_s) return running_hz;
    if (t < stand_s) return running_hz - brake_hz_s * (t - brake_s);
    return t < start_s ? 0.0 : std::min(running_hz, per_s2 * (t - start_s));
  };
}

/// Slips every 8 to 14 s: within a third of a second the wheels turn three to four times as fast.
Law slipping(double seconds, double running_hz, Random& random) {
  struct Slip {
    double from_s, rise_s, hold_s, fall_s, factor;
  };
  std::vector<Slip> slips;
  for (double at_s = random.uniform(6.0, 10.0); at_s < seconds; at_s += random.uniform(8.0, 14.0)) {
    slips.push_back({at_s, random.uniform(0.25, 0.5), random.uniform(0.6, 1.5),
                     random.uniform(0.3, 0.7), random.uniform(3.0, 4.0)});
  }
  return [=](double t) {
    double factor = 1.0;
    for (const Slip& slip : slips) {
      const double since = t - slip.from_s;
      const double until = slip.from_s + slip.rise_s + slip.hold_s + slip.fall_s - t;
      const double part = std::clamp(std::min(since / slip.rise_s, until / slip.fall_s), 0.0, 1.0);
      factor = std::max(factor, 1.0 + part * (slip.factor - 1.0));
    }
    return running_hz * factor;
  };
}

std::vector<double> angles(int beats_per_rev, double stray_deg, Random& random) {
  std::vector<double> out;
  out.reserve(static_cast<std::size_t>(beats_per_rev));
  for (int i = 0; i < beats_per_rev; ++i)
    out.push_back(360.0 * i / beats_per_rev +
                  (i == 0 ? 0.0 : random.uniform(-1.0, 1.0) * stray_deg));
  return out;
}

int beats_per_rev_of(FieldCondition condition) {
  switch (condition) {
    case FieldCondition::two_beats:
      return 2;
    case FieldCondition::three_beats:
      return 3;
    case FieldCondition::six_beats:
      return 6;
    case FieldCondition::eight_beats:
      return 8;
    default:
      return 4;
  }
}

bool is_limping(FieldCondition condition) {
  return condition >= FieldCondition::uneven && condition <= FieldCondition::eight_beats;
}

/// The engine as it is before the condition's own trouble.
SteamParams engine_of(FieldCondition condition, std::uint64_t seed, Random& random) {
  constexpr std::array<double, 6> rates = {22050.0, 32000.0, 44100.0, 44100.0, 48000.0, 96000.0};
  SteamParams params;
  params.seed = seed * 131 + static_cast<std::uint64_t>(condition);
  params.sample_rate_hz = rates[static_cast<std::size_t>(random.below(rates.size()))];
  params.seconds = 36.0;
  params.peak_db = random.uniform(-18.0, -10.0);
  params.depth_db = random.uniform(18.0, 26.0);
  params.rise_s = random.uniform(0.004, 0.022);
  params.decay_s = random.uniform(0.04, 0.15);
  params.colour_hz = random.uniform(500.0, 3000.0);
  params.floor_colour_hz = random.uniform(300.0, 4000.0);
  params.room = random.uniform(0.0, 0.6);
  params.level_jitter_db = random.uniform(0.5, 2.0);
  params.jitter_deg = random.uniform(0.2, 1.2);
  params.beats_per_rev = beats_per_rev_of(condition);
  const double each_deg = 360.0 / params.beats_per_rev;
  params.angles_deg = angles(params.beats_per_rev, 0.022 * each_deg, random);
  if (is_limping(condition)) {
    params.angles_deg = angles(params.beats_per_rev, 0.05 * each_deg, random);
    for (int i = 0; i < params.beats_per_rev; ++i) {
      params.levels_db.push_back(random.uniform(-5.0, 0.0));
      params.colours_hz.push_back(params.colour_hz * random.uniform(0.6, 1.6));
    }
  }
  if (condition == FieldCondition::uneven) {
    // Fore and back strokes differ: every other interval is longer.
    const double lag = random.uniform(0.04, 0.125) * each_deg;
    for (std::size_t i = 1; i < params.angles_deg.size(); i += 2)
      params.angles_deg[i] += lag;
  }
  params.rate_hz = wandering(std::exp(random.uniform(std::log(1.3), std::log(7.5))), random);
  return params;
}

/// What the condition changes of the engine itself.
void make_hard(SteamParams& params, FieldCondition condition, Random& random) {
  switch (condition) {
    case FieldCondition::over_6_db:
      params.depth_db = 6.0;
      break;
    case FieldCondition::over_0_db:
      params.depth_db = 0.0;
      break;
    case FieldCondition::clipping:
      params.peak_db = random.uniform(-4.0, 4.0) + 10.0;
      break;
    case FieldCondition::from_rest: {
      // Beat k at T sqrt(k): the rate is a t with k = a t² / 2, so a = 2 / T².
      const double first_s = random.uniform(2.0, 2.8);
      params.seconds = 45.0;
      params.start_turns = 0.0;
      params.angles_deg = angles(params.beats_per_rev, 0.0, random);
      params.jitter_deg = std::min(params.jitter_deg, 0.6);
      params.rate_hz =
          starting(random.uniform(1.0, 4.0), 2.0 / (first_s * first_s), random.uniform(8.0, 12.0));
      break;
    }
    case FieldCondition::express:
      params.depth_db = random.uniform(10.0, 16.0);
      params.decay_s = random.uniform(0.02, 0.05);
      params.rise_s = random.uniform(0.003, 0.007);
      params.rate_hz = wandering(random.uniform(21.0, 33.0), random);
      break;
    case FieldCondition::stop_restart:
      params.seconds = 60.0;
      params.rate_hz = stop_and_restart(random.uniform(2.0, 6.0), random);
      break;
    case FieldCondition::slip:
      params.rate_hz = slipping(params.seconds, random.uniform(1.5, 3.5), random);
      break;
    case FieldCondition::drifting:
      params.seconds = 60.0;
      params.rate_hz = [](double) { return 0.0; };
      break;
    case FieldCondition::standing:
      params.seconds = 600.0;
      params.rate_hz = [](double) { return 0.0; };
      break;
    default:
      break;
  }
}

/// What is heard beside the engine. `beat`: gain of a beat's peak.
void add_trouble(std::span<float> samples, double rate, FieldCondition condition, double beat,
                 Random& random) {
  const auto over = [&](double low_db, double high_db) {
    return beat * gain_of_db(random.uniform(low_db, high_db));
  };
  switch (condition) {
    case FieldCondition::pump:
      add_pump(samples, rate, over(-6.0, 2.0), random);
      break;
    case FieldCondition::whistle:
      add_whistle(samples, rate, over(3.0, 9.0), {0.5, 3.0, 1.0, 5.0}, random);
      break;
    case FieldCondition::safety_valve:
      add_blow_off(samples, rate, over(-6.0, 0.0), {3.0, 8.0, 3.0, 8.0}, random);
      break;
    case FieldCondition::wind:
      add_wind(samples, rate, over(-3.0, 6.0), random);
      break;
    case FieldCondition::hum:
      add_hum(samples, rate, over(0.0, 6.0) * gain_of_db(-3.0), random);
      break;
    case FieldCondition::dropouts:
      drop_out(samples, rate, 0.2, random);
      break;
    case FieldCondition::passing:
      add_passing(samples, rate, over(-6.0, 0.0), random);
      break;
    case FieldCondition::drifting:
      add_rolling(samples, rate, over(-15.0, -6.0), random);
      add_clatter(samples, rate, over(-12.0, -3.0), random.uniform(0.5, 2.0), random);
      break;
    case FieldCondition::standing:
      add_pump(samples, rate, over(-12.0, -3.0), random);
      add_injector(samples, rate, over(-15.0, -8.0), {15.0, 60.0, 20.0, 60.0}, random);
      add_wind(samples, rate, over(-15.0, -6.0), random);
      break;
    default:
      break;
  }
}

std::vector<float> delayed(std::span<const float> samples, double gain, std::size_t frames) {
  std::vector<float> out(samples.size(), 0.0F);
  for (std::size_t i = frames; i < out.size(); ++i)
    out[i] = static_cast<float>(gain) * samples[i - frames];
  return out;
}

/// Three microphones: by the chimney (in any channel); at the motion, with the pump and clatter
/// beside it; in the cab, with an injector. The second and third hear the beats 6 to 12 dB less.
void spread_microphones(FieldTake& take, double beat, Random& random) {
  const std::vector<float> engine = std::move(take.channels.front());
  const double rate = take.sample_rate_hz;
  const auto frames_of = [&](double s) { return static_cast<std::size_t>(std::llround(s * rate)); };
  const auto chimney = static_cast<std::size_t>(random.below(3));
  take.channels.assign(3, {});
  take.delays_s.assign(3, 0.0);
  for (std::size_t i = 0; i < 3; ++i) {
    const std::size_t c = (chimney + i) % 3;
    const std::size_t late = i == 0 ? 0 : frames_of(random.uniform(0.004, 0.03));
    const double gain = i == 0 ? 1.0 : gain_of_db(random.uniform(-12.0, -6.0));
    take.channels[c] = delayed(engine, gain, late);
    take.delays_s[c] = static_cast<double>(late) / rate;
    const double beside = beat * gain_of_db(random.uniform(-9.0, 0.0));
    if (i == 1) {
      add_pump(take.channels[c], rate, beside, random);
      add_clatter(take.channels[c], rate, beside, 2.0, random);
    }
    if (i == 2) add_injector(take.channels[c], rate, beside, {10.0, 30.0, 1.0, 4.0}, random);
  }
}

}  // namespace

std::string_view name_of(FieldCondition condition) {
  return names[static_cast<std::size_t>(condition)];
}

FieldTake field_take(FieldCondition condition, std::uint64_t seed, double seconds) {
  Random random(seed * 1000003 + static_cast<std::uint64_t>(condition) * 7919 + 17);
  SteamParams params = engine_of(condition, seed, random);
  make_hard(params, condition, random);
  if (condition == FieldCondition::standing) params.sample_rate_hz = 32000.0;
  if (seconds > 0.0) params.seconds = seconds;
  Steam steam = synthetic_steam(params);
  FieldTake take;
  take.condition = condition;
  take.sample_rate_hz = params.sample_rate_hz;
  take.beats_s = std::move(steam.beats_s);
  take.positions = std::move(steam.positions);
  take.angles_deg = params.angles_deg;
  take.rate_hz = params.rate_hz;
  take.beats_per_rev = params.beats_per_rev;
  take.driver_diameter_mm = condition == FieldCondition::express ? random.uniform(1700.0, 2100.0)
                                                                 : random.uniform(1200.0, 1900.0);
  double fastest_hz = 1.0;
  for (double t = 0.0; t < params.seconds; t += 0.1)
    fastest_hz = std::max(fastest_hz, params.rate_hz(t));
  // Where none is heard, the engine's top speed is that of some ten beats a second.
  constexpr double unheard_hz = 8.0;
  if (take.beats_s.empty()) fastest_hz = unheard_hz;
  take.top_speed_kmh = std::min(
      300.0, random.uniform(1.1, 2.0) *
                 beat_speed_kmh(1.0 / fastest_hz, take.driver_diameter_mm, take.beats_per_rev));
  take.channels.push_back(std::move(steam.samples));
  take.delays_s.push_back(0.0);
  const double beat = gain_of_db(params.peak_db);
  if (condition == FieldCondition::microphones) {
    spread_microphones(take, beat, random);
  } else {
    add_trouble(take.channels.front(), take.sample_rate_hz, condition, beat, random);
  }
  for (std::vector<float>& channel : take.channels)
    for (float& x : channel)
      x = std::clamp(x, -1.0F, 1.0F);
  return take;
}

}  // namespace fourbeat::tests
