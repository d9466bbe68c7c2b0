// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/field_sounds.h"

#include "support/synthetic_steam.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <vector>

namespace fourbeat::tests {

namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;

double seconds_of(std::span<const float> samples, double sample_rate_hz) {
  return static_cast<double>(samples.size()) / sample_rate_hz;
}

/// Calls with each sample and its time, from `from_s` for `length_s`, as far as there are samples.
template <typename Make>
void add_from(std::span<float> samples, double sample_rate_hz, double from_s, double length_s,
              Make make) {
  const auto size = static_cast<std::int64_t>(samples.size());
  const auto first = std::max<std::int64_t>(0, std::llround(from_s * sample_rate_hz));
  const auto last =
      std::min<std::int64_t>(size, std::llround((from_s + length_s) * sample_rate_hz));
  for (std::int64_t i = first; i < last; ++i)
    samples[static_cast<std::size_t>(i)] +=
        static_cast<float>(make(static_cast<double>(i - first) / sample_rate_hz));
}

/// White noise less what a one-pole low-pass lets through: bright.
class BrightNoise {
 public:
  BrightNoise(std::uint64_t seed, double corner_hz, double sample_rate_hz)
      : white_(seed, sample_rate_hz, sample_rate_hz),
        pole_(std::exp(-two_pi * corner_hz / sample_rate_hz)) {}
  double next() {
    const double x = white_.next();
    low_ = pole_ * low_ + (1.0 - pole_) * x;
    return x - low_;
  }

 private:
  detail::Noise white_;
  double pole_;
  double low_ = 0.0;
};

/// One end of a pump's stroke.
struct StrokeSound {
  double gain = 1.0;
  double thud_hz = 120.0;
  double thud_decay_s = 0.03;
  double breath_decay_s = 0.05;
  double breath_share = 0.5;
};

StrokeSound draw_stroke(Random& random) {
  StrokeSound sound;
  sound.thud_hz = random.uniform(80.0, 260.0);
  sound.thud_decay_s = random.uniform(0.015, 0.04);
  sound.breath_decay_s = random.uniform(0.02, 0.12);
  sound.breath_share = random.uniform(0.3, 0.8);
  return sound;
}

void add_stroke(std::span<float> samples, double sample_rate_hz, double at_s, double gain,
                const StrokeSound& sound, BrightNoise& breath) {
  constexpr double rise_s = 0.005;
  add_from(samples, sample_rate_hz, at_s, 0.5, [&](double t) {
    const double rise = std::min(1.0, t / rise_s);
    const double thud = std::sqrt(2.0) * std::sin(two_pi * sound.thud_hz * t) *
                        std::exp(-t / sound.thud_decay_s) * (1.0 - sound.breath_share);
    const double blow = breath.next() * std::exp(-t / sound.breath_decay_s) * sound.breath_share;
    return gain * rise * (thud + blow);
  });
}

/// 0 to 1 and back within [0, length), straight ramps.
double gate(double t, double length_s, double rise_s, double fall_s) {
  return std::clamp(std::min(t / rise_s, (length_s - t) / fall_s), 0.0, 1.0);
}

}  // namespace

void for_each_spell(const Spells& spells, double seconds, Random& random,
                    const std::function<void(double, double)>& call) {
  double at_s = random.uniform(0.0, spells.most_off_s);
  while (at_s < seconds) {
    const double length_s = random.uniform(spells.least_on_s, spells.most_on_s);
    call(at_s, std::min(seconds, at_s + length_s));
    at_s += length_s + random.uniform(spells.least_off_s, spells.most_off_s);
  }
}

void add_pump(std::span<float> samples, double sample_rate_hz, double gain, Random& random) {
  const double seconds = seconds_of(samples, sample_rate_hz);
  const double stroke_s = random.uniform(60.0 / 160.0, 60.0 / 70.0);
  const double lag = random.uniform(0.02, 0.10) * (random.uniform() < 0.5 ? -1.0 : 1.0);
  const double stray = random.uniform(0.01, 0.03);
  const double other_end = gain_of_db(random.uniform(-8.0, -1.0));
  const std::array<StrokeSound, 2> ends = {draw_stroke(random), draw_stroke(random)};
  BrightNoise breath(random.next(), random.uniform(500.0, 2500.0), sample_rate_hz);
  const Spells running{15.0, 60.0, 3.0, 15.0};
  for_each_spell(running, seconds, random, [&](double from_s, double to_s) {
    std::size_t end = 0;
    for (double at_s = from_s; at_s < to_s; end = 1 - end) {
      const double level = gain * gain_of_db(random.normal()) * (end == 0 ? 1.0 : other_end);
      add_stroke(samples, sample_rate_hz, at_s, level, ends[end], breath);
      const double slower = 1.0 + 0.3 * (at_s - from_s) / (to_s - from_s);
      at_s += stroke_s * slower * (1.0 + (end == 0 ? lag : -lag)) *
              std::max(0.5, 1.0 + stray * random.normal());
    }
  });
}

void add_whistle(std::span<float> samples, double sample_rate_hz, double gain, const Spells& spells,
                 Random& random) {
  const int notes = 3 + static_cast<int>(random.below(3));
  const double lowest_hz = random.uniform(280.0, 600.0);
  std::vector<double> notes_hz;
  notes_hz.reserve(static_cast<std::size_t>(notes));
  for (int i = 0; i < notes; ++i)
    notes_hz.push_back(lowest_hz * (1.0 + i * random.uniform(0.2, 0.3)));
  const double overtone = random.uniform(0.1, 0.4);
  const double tremor_hz = random.uniform(4.0, 9.0);
  const double breath_share = random.uniform(0.05, 0.2);
  BrightNoise breath(random.next(), 800.0, sample_rate_hz);
  const double scale = gain / std::sqrt(0.5 * notes * (1.0 + 2.0 * overtone * overtone));
  for_each_spell(spells, seconds_of(samples, sample_rate_hz), random,
                 [&](double from_s, double to_s) {
                   const double length_s = to_s - from_s;
                   add_from(samples, sample_rate_hz, from_s, length_s, [&](double t) {
                     // The pitch rises as the whistle fills.
                     const double filled = t - 0.01 * (1.0 - std::exp(-t / 0.08));
                     double sum = 0.0;
                     for (const double hz : notes_hz)
                       for (int k = 1; k <= 3; ++k)
                         sum += (k == 1 ? 1.0 : overtone) * std::sin(two_pi * hz * k * filled);
                     const double tremor = 1.0 + 0.1 * std::sin(two_pi * tremor_hz * t);
                     return gate(t, length_s, 0.06, 0.1) *
                            (scale * tremor * sum + gain * breath_share * breath.next());
                   });
                 });
}

void add_blow_off(std::span<float> samples, double sample_rate_hz, double gain,
                  const Spells& spells, Random& random) {
  BrightNoise steam(random.next(), random.uniform(300.0, 1500.0), sample_rate_hz);
  const double rise_s = random.uniform(0.02, 0.08);
  for_each_spell(
      spells, seconds_of(samples, sample_rate_hz), random, [&](double from_s, double to_s) {
        const double length_s = to_s - from_s;
        add_from(samples, sample_rate_hz, from_s, length_s,
                 [&](double t) { return gain * gate(t, length_s, rise_s, 0.4) * steam.next(); });
      });
}

void add_injector(std::span<float> samples, double sample_rate_hz, double gain,
                  const Spells& spells, Random& random) {
  BrightNoise hiss(random.next(), 700.0, sample_rate_hz);
  detail::Noise water(random.next(), 350.0, sample_rate_hz);
  detail::Noise gurgle(random.next(), 4.0, sample_rate_hz);
  for_each_spell(spells, seconds_of(samples, sample_rate_hz), random,
                 [&](double from_s, double to_s) {
                   const double length_s = to_s - from_s;
                   add_from(samples, sample_rate_hz, from_s, length_s, [&](double t) {
                     const double wet = std::clamp(0.5 + 0.5 * gurgle.next(), 0.0, 1.5);
                     return gain * gate(t, length_s, 0.6, 0.3) *
                            (0.7 * hiss.next() + 0.7 * wet * water.next());
                   });
                 });
}

void add_wind(std::span<float> samples, double sample_rate_hz, double gain, Random& random) {
  detail::Noise rumble(random.next(), random.uniform(60.0, 200.0), sample_rate_hz);
  detail::Noise gusts(random.next(), random.uniform(0.2, 0.5), sample_rate_hz);
  detail::Noise buffets(random.next(), random.uniform(2.0, 6.0), sample_rate_hz);
  for (float& x : samples) {
    const double level = gain_of_db(6.0 * (gusts.next() - 1.0) + 3.0 * buffets.next());
    x += static_cast<float>(gain * std::min(2.0, level) * rumble.next());
  }
}

void add_hum(std::span<float> samples, double sample_rate_hz, double gain, Random& random) {
  const double mains_hz = random.uniform() < 0.5 ? 50.0 : 60.0;
  std::array<double, 10> amplitudes{};
  double power = 0.0;
  for (std::size_t k = 0; k < amplitudes.size(); ++k) {
    amplitudes[k] = random.uniform() / static_cast<double>(k + 1);
    power += 0.5 * amplitudes[k] * amplitudes[k];
  }
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const double turn = two_pi * mains_hz * static_cast<double>(i) / sample_rate_hz;
    double sum = 0.0;
    for (std::size_t k = 0; k < amplitudes.size(); ++k)
      sum += amplitudes[k] * std::sin(turn * static_cast<double>(k + 1));
    samples[i] += static_cast<float>(gain / std::sqrt(power) * sum);
  }
}

void add_passing(std::span<float> samples, double sample_rate_hz, double gain, Random& random) {
  const Spells spells{5.0, 10.0, 6.0, 12.0};
  detail::Noise noise(random.next(), random.uniform(300.0, 2000.0), sample_rate_hz);
  for_each_spell(spells, seconds_of(samples, sample_rate_hz), random,
                 [&](double from_s, double to_s) {
                   const double length_s = to_s - from_s;
                   add_from(samples, sample_rate_hz, from_s, length_s, [&](double t) {
                     const double swell = std::sin(std::numbers::pi * t / length_s);
                     return gain * swell * swell * noise.next();
                   });
                 });
}

void add_clatter(std::span<float> samples, double sample_rate_hz, double gain, double per_second,
                 Random& random) {
  const double seconds = seconds_of(samples, sample_rate_hz);
  BrightNoise noise(random.next(), 300.0, sample_rate_hz);
  double at_s = 0.0;
  while (true) {
    at_s -= std::log(1.0 - random.uniform()) / per_second;
    if (at_s >= seconds) return;
    const int knocks = 1 + static_cast<int>(random.below(2));
    for (int knock = 0; knock < knocks; ++knock) {
      const double level = gain * gain_of_db(random.uniform(-12.0, 0.0));
      const double decay_s = random.uniform(0.01, 0.04);
      const double ring_hz = random.uniform(300.0, 2500.0);
      add_from(samples, sample_rate_hz, at_s + knock * random.uniform(0.06, 0.2), 8.0 * decay_s,
               [&](double t) {
                 return level * std::exp(-t / decay_s) *
                        (0.6 * noise.next() + std::sin(two_pi * ring_hz * t));
               });
    }
  }
}

void add_rolling(std::span<float> samples, double sample_rate_hz, double gain, Random& random) {
  detail::Noise noise(random.next(), random.uniform(200.0, 700.0), sample_rate_hz);
  detail::Noise level(random.next(), 0.5, sample_rate_hz);
  for (float& x : samples)
    x += static_cast<float>(gain * gain_of_db(2.0 * level.next()) * noise.next());
}

void drop_out(std::span<float> samples, double sample_rate_hz, double per_second, Random& random) {
  double at_s = 0.0;
  while (true) {
    at_s -= std::log(1.0 - random.uniform()) / per_second;
    const auto first = static_cast<std::size_t>(at_s * sample_rate_hz);
    if (first >= samples.size()) return;
    const double length_s = random.uniform(0.02, 0.2);
    const auto count = static_cast<std::size_t>(length_s * sample_rate_hz);
    for (std::size_t i = first; i < std::min(samples.size(), first + count); ++i)
      samples[i] = 0.0F;
    at_s += length_s;
  }
}

}  // namespace fourbeat::tests
