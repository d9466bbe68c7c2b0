// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "waves.h"

#include <cstdint>
#include <span>

/// Everything that an engine says beside its exhaust. Each call adds one sound, beginning at a
/// time of the take, to a source's signal; levels are linear at one metre.

namespace fourbeat::demo {

/// Where the parts of a held sound meet, in seconds of the take.
struct Parts {
  double begin_s = 0.0;
  double hold_s = 0.0;
  double release_s = 0.0;
  double end_s = 0.0;
};

/// One pipe of a whistle.
struct Pipe {
  double hz = 440.0;
  double gain = 1.0;
};
struct Whistle {
  std::span<const Pipe> pipes;
  double rise_s = 0.30;    ///< until it speaks fully
  double fall_s = 0.55;    ///< until it is gone
  double sag_cents = 150;  ///< how far its pitch falls with the steam
  double breath = 0.2;
};
/// Three notes of a chord, and a single high bell whistle.
[[nodiscard]] Whistle chime_whistle();
[[nodiscard]] Whistle shunting_whistle();

/// A blow of `hold_s` between its rise and its fall.
Parts blow_whistle(Samples& out, double at_s, double hold_s, const Whistle& whistle, double gain,
                   std::uint64_t seed);

/// A safety valve: feathers, lifts with a pop, roars for `hold_s`, flutters and shuts.
Parts lift_safety_valve(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed);

/// A steady jet of steam or air.
struct Jet {
  double low_hz, high_hz;
  double ring_hz, ring_gain;  ///< a resonance of its pipe
  double rise_s, fall_s;
  double roughness;  ///< 0 to 1
};
[[nodiscard]] Jet blower_jet();
[[nodiscard]] Jet drain_cock_jet();
[[nodiscard]] Jet brake_release_jet();
[[nodiscard]] Jet sander_jet();
Parts blow_jet(Samples& out, double at_s, double hold_s, const Jet& jet, double gain,
               std::uint64_t seed);

/// An engine that only waits: boiling, small leaks, drops on hot plates. No fade at either end.
void simmer(Samples& out, double at_s, double length_s, double gain, std::uint64_t seed);

/// A steam pump: `strokes` double strokes of about `period_s`, each a little different.
/// Returns where the strokes begin, and the end.
[[nodiscard]] std::vector<double> run_pump(Samples& out, double at_s, int strokes, double period_s,
                                           double pitch, double gain, std::uint64_t seed);

/// An injector: splutters, picks up, sings for `hold_s`, is shut and dribbles.
Parts run_injector(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed);
/// It splutters and will not pick up. Returns the end.
double miss_injector(Samples& out, double at_s, double gain, std::uint64_t seed);

/// Water into the tender for `hold_s`.
Parts fill_tender(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed);

// Metal, coal and hands. Each returns its end.
double bell_stroke(Samples& out, double at_s, double gain, Random& random);
Parts ring_bell(Samples& out, double at_s, int strokes, double gain, std::uint64_t seed);
double coupler_clank(Samples& out, double at_s, double gain, std::uint64_t seed);
double buffers_touch(Samples& out, double at_s, double gain, std::uint64_t seed);
double cab_door(Samples& out, double at_s, double gain, std::uint64_t seed);
double fire_doors(Samples& out, double at_s, bool open, double gain, std::uint64_t seed);
double shovel_coal(Samples& out, double at_s, double gain, std::uint64_t seed);
double coal_slides(Samples& out, double at_s, double gain, std::uint64_t seed);
double rake_fire(Samples& out, double at_s, double gain, std::uint64_t seed);
double hand_brake(Samples& out, double at_s, double gain, std::uint64_t seed);
double reverser(Samples& out, double at_s, double gain, std::uint64_t seed);
double lamp_on_iron(Samples& out, double at_s, double gain, std::uint64_t seed);
double guards_whistle(Samples& out, double at_s, double gain, std::uint64_t seed);
double brake_squeal(Samples& out, double at_s, double gain, std::uint64_t seed);
Parts flange_squeal(Samples& out, double at_s, double hold_s, double gain, std::uint64_t seed);

}  // namespace fourbeat::demo
