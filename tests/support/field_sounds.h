// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/random.h"

#include <functional>
#include <span>

namespace fourbeat::tests {

/// What a microphone near an engine hears beside the beats. Each adds to `samples`; `gain`: RMS,
/// of a stroke or of the loudest moment where the level changes.

/// Stretches [from, to) in which something sounds, alternating with pauses, each of a length drawn
/// evenly between its bounds.
struct Spells {
  double least_on_s = 1.0;
  double most_on_s = 3.0;
  double least_off_s = 2.0;
  double most_off_s = 6.0;
};
void for_each_spell(const Spells& spells, double seconds, Random& random,
                    const std::function<void(double from_s, double to_s)>& call);

/// An air pump: a thud and a breath at each end of its stroke. The two ends differ in sound, level
/// and time; each stroke takes its own time, for nothing but steam drives it (common practice, no
/// source: 70 to 160 single strokes a minute). It slows as the pressure rises, and rests.
void add_pump(std::span<float> samples, double sample_rate_hz, double gain, Random& random);

/// Blasts of a chime whistle: three to five notes with overtones, a slow tremor, and breath.
void add_whistle(std::span<float> samples, double sample_rate_hz, double gain, const Spells& spells,
                 Random& random);

/// Steam blowing off: bright noise that sets in within 20 to 80 ms.
void add_blow_off(std::span<float> samples, double sample_rate_hz, double gain,
                  const Spells& spells, Random& random);

/// An injector: a hiss that sets in slowly and gurgles irregularly.
void add_injector(std::span<float> samples, double sample_rate_hz, double gain,
                  const Spells& spells, Random& random);

/// Wind on the capsule: noise under 60 to 200 Hz in gusts; `gain` is a strong gust's.
void add_wind(std::span<float> samples, double sample_rate_hz, double gain, Random& random);

/// 50 or 60 Hz and up to nine overtones.
void add_hum(std::span<float> samples, double sample_rate_hz, double gain, Random& random);

/// Other traffic: noise that swells and dies away over 5 to 10 s.
void add_passing(std::span<float> samples, double sample_rate_hz, double gain, Random& random);

/// Clatter of points, rods and couplings: knocks at random, one or two at a time.
void add_clatter(std::span<float> samples, double sample_rate_hz, double gain, double per_second,
                 Random& random);

/// Rolling noise: dark, its level wandering by some dB within seconds.
void add_rolling(std::span<float> samples, double sample_rate_hz, double gain, Random& random);

/// Stretches of 20 to 200 ms become nothing.
void drop_out(std::span<float> samples, double sample_rate_hz, double per_second, Random& random);

}  // namespace fourbeat::tests
