// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"
#include "fourbeat/dsp/beat_tracker.h"

#include <optional>
#include <vector>

namespace fourbeat::dsp {

/// What is known of wheel and air.
struct WheelParams {
  int beats_per_rev = 4;                     ///< 1 to 24
  std::vector<double> beat_angles_deg;       ///< one a beat of the revolution; empty: measured
  std::optional<double> driver_diameter_mm;  ///< 200 to 4000
  double air_celsius = 15.0;                 ///< -40 to 60
};

/// Speed of sound in air: 343.2 m/s × sqrt(T / 293.15 K) (ISO 9613-1, annex A).
[[nodiscard]] double speed_of_sound_m_s(double air_celsius);

/// An engine that went past a microphone at the line's side, on a straight track.
struct PassBy {
  FrameRange range;     ///< the beats' stretch
  double time_s = 0.0;  ///< when the engine was nearest, as heard at the microphone
  double time_sd_s = 0.0;
  double distance_m = 0.0;  ///< from the microphone to the engine when nearest
  double distance_sd_m = 0.0;
  double speed_kmh = 0.0;  ///< the engine's own, when nearest
  double speed_sd_kmh = 0.0;
  double confidence = 0.0;     ///< 0 to 1: probability of this against a motion without Doppler
  double turned_beats = 0.0;   ///< turns of the wheel at the nearest point, in beats of its stretch
  double metres_a_beat = 0.0;  ///< road a beat covers; measured where no diameter is given
  double sound_speed_m_s = 0.0;
};

/// Looks for the Doppler shift of a lineside pass-by in the beats of each stretch.
///
/// A beat emitted at g after the wheel has rolled x metres from the nearest point is heard at
/// g + sqrt(d² + x²) / c, and g goes smoothly with x (a polynomial of degree 1 to 3). Over 300 m
/// of road at a time this is set against a motion without Doppler (degree 1 to 5) by the Bayesian
/// information criterion (Schwarz, Ann. Statist. 6, 1978), with as many beats as their residuals
/// are independent; a difference of 10 is "very strong" (Kass and Raftery, J. Am. Stat. Assoc. 90,
/// 1995) and counts as a pass-by when the shift also has the size that c gives it, and the beats
/// grow louder on the way near by at least a fifth of what sound that spreads freely does in dB (a
/// recorder may compress; one that levels all out hides a pass-by). As smooth motions of any kind
/// (speed.h) the beats must be likelier by as much without the sound's way. The nonlinear
/// parameters are fitted with the linear ones projected out (Golub and Pereyra, SIAM J. Numer.
/// Anal. 10, 1973). Without a diameter the road a beat covers is fitted too.
/// Returns the surest pass-by, or none. Errors: bad_argument (wheel out of range).
[[nodiscard]] Result<std::optional<PassBy>> find_pass_by(const BeatTrack& track,
                                                         const WheelParams& wheel);

}  // namespace fourbeat::dsp
