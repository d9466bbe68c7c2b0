// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_materials.h"

#include "loop_sounds.h"

#include "fourbeat/base/random.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <numbers>

namespace fourbeat::loop_materials {

namespace {

using Samples = std::vector<float>;
constexpr double turn = 2.0 * std::numbers::pi;

std::size_t frames_of(double seconds) {
  return static_cast<std::size_t>(seconds * rate_hz);
}

double time_of(std::size_t frame) {
  return static_cast<double>(frame) / rate_hz;
}

/// Noise between two one-pole corners, of an RMS level.
Samples hiss(double seconds, double low_hz, double high_hz, double rms, std::uint64_t seed) {
  Random random(seed);
  Samples out(frames_of(seconds));
  const double up = 1.0 - std::exp(-turn * high_hz / rate_hz);
  const double down = 1.0 - std::exp(-turn * low_hz / rate_hz);
  double smooth = 0.0;
  double slow = 0.0;
  double power = 0.0;
  for (float& x : out) {
    smooth += up * (random.normal() - smooth);
    slow += down * (smooth - slow);
    x = static_cast<float>(smooth - slow);
    power += static_cast<double>(x) * x;
  }
  const double scale = rms / std::sqrt(power / static_cast<double>(out.size()));
  for (float& x : out)
    x = static_cast<float>(scale * x);
  return out;
}

/// A quantity that wanders about 0 with a standard deviation of about 1, no faster than `hz`.
class Wander {
 public:
  Wander(double hz, std::uint64_t seed) : random_(seed), share_(turn * hz / rate_hz) {
    for (int i = 0; i < 1000; ++i)
      jump();
    from_ = to_;
    jump();
  }
  /// Once a frame.
  double next() {
    at_ += share_;
    if (at_ >= 1.0) {
      at_ -= 1.0;
      from_ = to_;
      jump();
    }
    return from_ + (to_ - from_) * (0.5 - 0.5 * std::cos(0.5 * turn * at_));
  }

 private:
  void jump() { to_ = 0.5 * to_ + 0.866 * random_.normal(); }
  Random random_;
  double share_;
  double at_ = 0.0;
  double from_ = 0.0;
  double to_ = 0.0;
};

/// Adds a tone of harmonics (levels by number) whose frequency is given a frame.
void add_tone(Samples& out, const std::vector<double>& levels,
              const std::function<double(std::size_t)>& hz) {
  double phase = 0.0;
  for (std::size_t i = 0; i < out.size(); ++i) {
    phase += hz(i) / rate_hz;
    phase -= std::floor(phase);
    for (std::size_t h = 0; h < levels.size(); ++h) {
      out[i] += static_cast<float>(levels[h] * std::sin(turn * phase * static_cast<double>(h + 1)));
    }
  }
}

/// Multiplies by 10^(db / 20 × wander).
void wander_level(Samples& out, double db, double hz, std::uint64_t seed) {
  Wander wander(hz, seed);
  for (float& x : out)
    x = static_cast<float>(x * std::pow(10.0, db / 20.0 * wander.next()));
}

Material whistle(double seconds, std::uint64_t seed) {
  Random random(seed);
  const double f0 = random.uniform(350.0, 650.0);
  const double vibrato_hz = random.uniform(4.0, 6.0);
  const double depth = random.uniform(0.001, 0.004);
  Wander uneven(1.0, seed + 1);
  Material out;
  Samples x = hiss(seconds, 800.0, 6000.0, 0.01, seed + 2);
  double phase = 0.0;
  add_tone(x, {0.2, 0.1, 0.06, 0.03}, [&](std::size_t) {
    phase += vibrato_hz * (1.0 + 0.03 * uneven.next()) / rate_hz;
    return f0 * (1.0 + depth * std::sin(turn * phase));
  });
  wander_level(x, 0.3, 0.5, seed + 3);
  out.pcm = {rate_hz, {std::move(x)}};
  out.period_s = 1.0 / f0;
  out.period_share = depth;
  return out;
}

Material pump(double seconds, std::uint64_t seed) {
  Random random(seed);
  const double period_s = random.uniform(0.6, 1.1);
  const double jitter = random.uniform(0.005, 0.03);
  Material out;
  out.pcm = {rate_hz, {loop_sounds::pump(seconds, rate_hz, period_s, jitter, seed).samples}};
  out.period_s = period_s;
  out.period_share = 0.02 + jitter;
  return out;
}

/// Water and steam meet: a wavering thin tone that comes and goes in a strong hiss.
Material injector(double seconds, std::uint64_t seed) {
  Random random(seed);
  const double f0 = random.uniform(1500.0, 2800.0);
  Wander pitch(3.0, seed + 1);
  Material out;
  Samples tone(frames_of(seconds), 0.0F);
  add_tone(tone, {0.05, 0.015}, [&](std::size_t) { return f0 * (1.0 + 0.004 * pitch.next()); });
  wander_level(tone, 2.0, 2.0, seed + 2);
  out.pcm = {rate_hz, {hiss(seconds, 300.0, 7000.0, 0.08, seed + 3)}};
  for (std::size_t i = 0; i < tone.size(); ++i)
    out.pcm.channels[0][i] += tone[i];
  return out;
}

/// Loud, and rough: its level flutters faster than one can follow.
Material safety_valve(double seconds, std::uint64_t seed) {
  Random random(seed);
  Material out;
  Samples x = hiss(seconds, 80.0, random.uniform(4000.0, 9000.0), 0.2, seed + 1);
  wander_level(x, random.uniform(1.0, 2.0), 15.0, seed + 2);
  out.pcm = {rate_hz, {std::move(x)}};
  return out;
}

Material blower(double seconds, std::uint64_t seed) {
  Random random(seed);
  Material out;
  Samples x = hiss(seconds, 150.0, random.uniform(1000.0, 2500.0), 0.08, seed + 1);
  wander_level(x, random.uniform(0.4, 0.9), 0.4, seed + 2);
  out.pcm = {rate_hz, {std::move(x)}};
  return out;
}

/// A small turbine's whine that hunts a little, over its exhaust.
Material generator(double seconds, std::uint64_t seed) {
  Random random(seed);
  const double f0 = random.uniform(500.0, 900.0);
  Wander pitch(0.15, seed + 1);
  Material out;
  Samples x = hiss(seconds, 400.0, 5000.0, 0.02, seed + 2);
  add_tone(x, {0.1, 0.05, 0.04}, [&](std::size_t) { return f0 * (1.0 + 0.0008 * pitch.next()); });
  out.pcm = {rate_hz, {std::move(x)}};
  out.period_s = 1.0 / f0;
  out.period_share = 0.002;
  return out;
}

/// Standing, with something that ticks over: a soft thump and a breath, again and again.
Material idling(double seconds, std::uint64_t seed) {
  Random random(seed);
  const double period_s = random.uniform(0.35, 0.6);
  Samples bed = hiss(seconds, 200.0, 3000.0, 0.012, seed + 1);
  Samples breath = hiss(seconds, 300.0, 2000.0, 0.05, seed + 2);
  double beat = 0.0;
  double length = period_s;
  double strength = 1.0;
  for (std::size_t i = 0; i < bed.size(); ++i) {
    double since = time_of(i) - beat;
    if (since >= length) {
      beat += length;
      since = time_of(i) - beat;
      length = period_s * (1.0 + 0.01 * random.normal());
      strength = 1.0 + 0.05 * random.normal();
    }
    const double thump = 0.15 * std::exp(-since / 0.04) * std::sin(turn * 70.0 * since);
    const double puff = std::exp(-since / 0.1) * (1.0 - std::exp(-since / 0.01));
    bed[i] += static_cast<float>(strength * (thump + puff * static_cast<double>(breath[i])));
  }
  Material out;
  out.pcm = {rate_hz, {std::move(bed)}};
  out.period_s = period_s;
  out.period_share = 0.03;
  return out;
}

/// Quiet water just under boiling: a faint bed and many small bubbles.
Material simmer(double seconds, std::uint64_t seed) {
  Random random(seed);
  Samples x = hiss(seconds, 100.0, 3000.0, 0.004, seed + 1);
  const double bubbles_a_second = random.uniform(30.0, 80.0);
  const auto count = static_cast<int>(seconds * bubbles_a_second);
  for (int b = 0; b < count; ++b) {
    const auto at = static_cast<std::size_t>(random.uniform(0.0, static_cast<double>(x.size())));
    const double hz = random.uniform(400.0, 1500.0);
    const double level = 0.02 * random.uniform(0.3, 1.0);
    for (std::size_t i = at; i < std::min(x.size(), at + frames_of(0.04)); ++i) {
      const double since = time_of(i - at);
      x[i] += static_cast<float>(level * std::exp(-since / 0.008) * std::sin(turn * hz * since));
    }
  }
  Material out;
  out.pcm = {rate_hz, {std::move(x)}};
  return out;
}

/// A cock is shut: the steam goes on to die away, and takes its highs with it.
Material dying_steam(double seconds, std::uint64_t seed) {
  Random random(seed);
  const double fall_db_a_second = random.uniform(5.0, 10.0);
  Samples x = hiss(seconds, 300.0, 8000.0, 0.2, seed + 1);
  const Samples dull = hiss(seconds, 100.0, 600.0, 0.1, seed + 2);
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double t = time_of(i);
    x[i] = static_cast<float>(x[i] * std::pow(10.0, -fall_db_a_second * t / 20.0) +
                              dull[i] * std::pow(10.0, -0.7 * fall_db_a_second * t / 20.0));
  }
  Material out;
  out.pcm = {rate_hz, {std::move(x)}};
  out.loops = false;
  return out;
}

using Maker = Material (*)(double, std::uint64_t);
const std::vector<std::pair<std::string, Maker>>& makers() {
  static const std::vector<std::pair<std::string, Maker>> list = {
      {"whistle", whistle},        {"pump", pump},
      {"injector", injector},      {"safety_valve", safety_valve},
      {"blower", blower},          {"generator", generator},
      {"idling", idling},          {"simmer", simmer},
      {"dying_steam", dying_steam}};
  return list;
}

}  // namespace

const std::vector<std::string>& kinds() {
  static const std::vector<std::string> names = [] {
    std::vector<std::string> out;
    for (const auto& [name, maker] : makers())
      out.push_back(name);
    return out;
  }();
  return names;
}

Material material(const std::string& kind, double seconds, std::uint64_t seed) {
  for (const auto& [name, maker] : makers()) {
    if (name == kind) return maker(seconds, seed * 7919);
  }
  return {};
}

}  // namespace fourbeat::loop_materials
