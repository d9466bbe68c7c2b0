// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/steam.h"

namespace fourbeat::tests {

inline constexpr double step_s = 64.0 / 44100.0;  // an engine's control step at 44.1 kHz

inline constexpr drive::Draw standing{0.0, model::Effort::easy, true};
inline constexpr drive::Draw flat_out{1.0, model::Effort::hard, false};

/// Duties that are on, and otherwise as a new set has them.
inline model::Duties duties_on() {
  model::Duties made;
  made.on = true;
  return made;
}

/// Duties under which nothing happens by itself: no fire, no losses.
inline model::Duties still_duties() {
  model::Duties made = duties_on();
  made.start_fire = 0.0;
  made.standing_bar_per_min = 0.0;
  return made;
}

/// How often each event was told.
struct Told {
  int lifts = 0;
  int reseats = 0;
  int primes = 0;
  int fire_dropped = 0;
  int recovered = 0;

  void add(const drive::SteamEvents& events) {
    lifts += events.lifts ? 1 : 0;
    reseats += events.reseats ? 1 : 0;
    primes += events.primes ? 1 : 0;
    fire_dropped += events.fire_dropped ? 1 : 0;
    recovered += events.recovered ? 1 : 0;
  }
  bool operator==(const Told&) const = default;
};

/// Steps until `done(steam)` holds, longest_s at most. Seconds it took; longest_s: it never did.
template <class Done>
double run_until(drive::Steam& steam, const drive::Draw& draw, double longest_s, Told& told,
                 const Done& done) {
  const auto steps = static_cast<long>(longest_s / step_s);
  for (long step = 0; step < steps; ++step) {
    if (done(steam)) return static_cast<double>(step) * step_s;
    told.add(steam.advance(step_s, draw));
  }
  return longest_s;
}

inline Told run(drive::Steam& steam, const drive::Draw& draw, double seconds) {
  Told told;
  run_until(steam, draw, seconds, told, [](const drive::Steam&) { return false; });
  return told;
}

}  // namespace fourbeat::tests
