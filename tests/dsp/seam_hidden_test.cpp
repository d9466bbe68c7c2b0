// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_materials.h"
#include "loop_sounds.h"
#include "support/catch.h"

#include "fourbeat/dsp/seam.h"

#include <cmath>
#include <string>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_sounds;
using fourbeat::loop_materials::rate_hz;

namespace {

std::int64_t frames_of(double seconds) {
  return std::llround(seconds * rate_hz);
}

SeamReport measured(const audio::Pcm& pcm, const LoopSpec& loop) {
  JobControl job;
  Result<SeamReport> report = measure_seam(pcm, loop, 1, job);
  REQUIRE(report);
  return *report;
}

/// "white", "dull" or a kind of loop_materials.
audio::Pcm sound(const std::string& kind, double seconds, std::uint64_t seed) {
  const auto frames = static_cast<std::size_t>(frames_of(seconds));
  if (kind == "white") return pcm_of({noise(frames, seed)}, rate_hz);
  if (kind == "dull") return pcm_of({dull_noise(frames, seed, 0.1)}, rate_hz);
  return loop_materials::material(kind, seconds, seed).pcm;
}

/// A loop of `seconds` that ends with a crossfade of 3 s, rendered.
struct Faded {
  audio::Pcm pcm;
  LoopSpec loop;
};
Faded faded(const std::string& kind, double seconds, std::uint64_t seed) {
  constexpr double fade_s = 3.0;
  Faded out{sound(kind, fade_s + seconds + 0.1, seed),
            loop_of(frames_of(fade_s), frames_of(fade_s + seconds), frames_of(fade_s))};
  turn_to_blend(out.pcm, out.loop);
  REQUIRE(blend_loop(out.pcm, out.loop));
  return out;
}

/// From halfway through the fade to the wrap.
template <class Change>
Faded changed(Faded faded, Change change) {
  const std::int64_t end = faded.loop.range.end.value();
  const std::int64_t from = end - faded.loop.crossfade_frames.value() / 2;
  change(std::span(faded.pcm.channels[0])
             .subspan(static_cast<std::size_t>(from), static_cast<std::size_t>(end - from)));
  return faded;
}

double power(std::span<const float> samples) {
  double sum = 0.0;
  for (const float x : samples)
    sum += static_cast<double>(x) * x;
  return sum;
}

/// A one-pole low-pass, the level kept: nothing but the colour changes.
void dull(std::span<float> samples, double share) {
  const double before = power(samples);
  double y = 0.0;
  for (float& x : samples) {
    y += share * (static_cast<double>(x) - y);
    x = static_cast<float>(y);
  }
  const double scale = std::sqrt(before / power(samples));
  for (float& x : samples)
    x = static_cast<float>(scale * x);
}

}  // namespace

TEST_CASE("seam: under a fade of three seconds a step of 3 dB and a change of colour are found out",
          "[dsp]") {
  int even_unclean = 0;
  int steps_missed = 0;
  int colours_missed = 0;
  int tried = 0;
  for (const std::string kind : {"white", "dull", "blower"}) {
    for (const double seconds : {13.0, 20.0}) {
      for (std::uint64_t seed = seconds < 15.0 ? 1 : 2; seed <= 2; ++seed) {
        const Faded even = faded(kind, seconds, seed);
        const Faded step = changed(even, [](std::span<float> samples) {
          for (float& x : samples)
            x *= 1.4125F;
        });
        const Faded colour = changed(even, [](std::span<float> samples) { dull(samples, 0.35); });
        ++tried;
        even_unclean += measured(even.pcm, even.loop).state == SeamState::unclean ? 1 : 0;
        steps_missed += measured(step.pcm, step.loop).state != SeamState::unclean ? 1 : 0;
        colours_missed += measured(colour.pcm, colour.loop).state != SeamState::unclean ? 1 : 0;
      }
    }
  }
  CHECK(tried == 9);
  CHECK(even_unclean <= 1);
  CHECK(steps_missed == 0);
  CHECK(colours_missed == 0);
}

TEST_CASE("seam: a slow swell of a rumble that no other measure hears is found out", "[dsp]") {
  // All below 150 Hz, where no octave of the colour lies, and slower than the 50 ms level tells.
  int even_unclean = 0;
  int missed = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    audio::Pcm pcm = sound("white", 16.1, seed);
    for (int pole = 0; pole < 6; ++pole) {
      double y = 0.0;
      for (float& x : pcm.channels[0]) {
        y += 0.03 * (static_cast<double>(x) - y);
        x = static_cast<float>(y);
      }
    }
    Faded even{std::move(pcm), loop_of(frames_of(3.0), frames_of(16.0), frames_of(3.0))};
    turn_to_blend(even.pcm, even.loop);
    REQUIRE(blend_loop(even.pcm, even.loop));
    const Faded swell = changed(even, [](std::span<float> samples) {
      for (std::size_t i = 0; i < samples.size(); ++i) {
        const double place = std::min(1.0, static_cast<double>(i) / (0.4 * rate_hz));
        samples[i] = static_cast<float>(samples[i] * std::pow(10.0, 8.0 * place / 20.0));
      }
      // Back again before the wrap, as slowly.
      const std::size_t size = samples.size();
      for (std::size_t i = 0; i < size; ++i) {
        const double place = std::min(1.0, static_cast<double>(i) / (0.4 * rate_hz));
        samples[size - 1 - i] =
            static_cast<float>(samples[size - 1 - i] * std::pow(10.0, 8.0 * (place - 1.0) / 20.0));
      }
    });
    even_unclean += measured(even.pcm, even.loop).state == SeamState::unclean ? 1 : 0;
    missed += measured(swell.pcm, swell.loop).state != SeamState::unclean ? 1 : 0;
  }
  CHECK(even_unclean <= 1);
  CHECK(missed == 0);
}

TEST_CASE("seam: hard cuts in stationary noise are condemned no oftener than chance has it",
          "[dsp]") {
  int clean = 0;
  int unclean = 0;
  int tried = 0;
  for (const double seconds : {1.2, 2.5}) {
    for (const double share : {1.0, 0.3, 0.1}) {
      for (std::uint64_t seed = 1; seed <= 20; ++seed) {
        const auto frames = static_cast<std::size_t>(seconds * 8000.0);
        const audio::Pcm pcm = pcm_of({dull_noise(frames, 900 + seed, share)}, 8000.0);
        const SeamReport report = measured(pcm, loop_of(0, static_cast<std::int64_t>(frames)));
        clean += report.state == SeamState::clean ? 1 : 0;
        unclean += report.state == SeamState::unclean ? 1 : 0;
        ++tried;
      }
    }
  }
  // One in twenty is above rank 95, one in a hundred above 99; three standard deviations more.
  CHECK(tried == 120);
  CHECK(tried - clean <= 6 + 7);
  CHECK(unclean <= 1 + 4);
}
