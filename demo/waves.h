// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "exact_math.h"

#include "fourbeat/base/random.h"

#include <cstdint>
#include <span>
#include <string_view>
#include <vector>

/// The small parts that sounds are made of: noise, filters, struck bodies. Everything runs at
/// one rate, from seeds, with basic arithmetic only.

namespace fourbeat::demo {

inline constexpr double rate_hz = 48000.0;

/// One source's signal at one metre, mono.
using Samples = std::vector<float>;

/// Whole frames of a time; time_s >= 0.
[[nodiscard]] inline std::int64_t frames_of(double time_s) {
  return std::llround(time_s * rate_hz);
}

/// A seed of its own for a part of a take.
[[nodiscard]] std::uint64_t seed_of(std::uint64_t seed, std::string_view part);

/// White noise of RMS 1 (uniform).
class Noise {
 public:
  explicit Noise(std::uint64_t seed) : random_(seed) {}
  double next() { return random_.uniform(-1.0, 1.0) * 1.7320508075688772; }

 private:
  Random random_;
};

/// A slow, smooth wander within -1 … 1 that takes a new direction `turns_hz` times a second.
class Wander {
 public:
  Wander(std::uint64_t seed, double turns_hz);
  double next();

 private:
  Random random_;
  double step_;
  double place_ = 0.0;
  double from_ = 0.0;
  double to_ = 0.0;
};

/// Second-order filter after R. Bristow-Johnson's audio EQ cookbook.
class Biquad {
 public:
  [[nodiscard]] static Biquad low_pass(double hz, double q = 0.7071067811865476);
  [[nodiscard]] static Biquad high_pass(double hz, double q = 0.7071067811865476);
  /// Gain 1 at its centre.
  [[nodiscard]] static Biquad band_pass(double hz, double q);
  double next(double x) {
    const double y = b0_ * x + s1_;
    s1_ = b1_ * x - a1_ * y + s2_;
    s2_ = b2_ * x - a2_ * y;
    return y;
  }

 private:
  double b0_ = 1.0, b1_ = 0.0, b2_ = 0.0, a1_ = 0.0, a2_ = 0.0;
  double s1_ = 0.0, s2_ = 0.0;
};

/// Noise between two frequencies, of RMS about 1.
class BandNoise {
 public:
  BandNoise(std::uint64_t seed, double low_hz, double high_hz);
  double next() { return gain_ * low_.next(high_.next(noise_.next())); }

 private:
  Noise noise_;
  Biquad high_;
  Biquad low_;
  double gain_;
};

/// First-order low-pass.
class OnePole {
 public:
  explicit OnePole(double hz) : keep_(decay_per_frame(1.0 / (6.283185307179586 * hz), rate_hz)) {}
  double next(double x) {
    state_ = x + (state_ - x) * keep_;
    return state_;
  }

 private:
  double keep_;
  double state_ = 0.0;
};

/// 0 to 1 with level ends, for place 0 to 1; level outside.
[[nodiscard]] inline double smooth_step(double place) {
  if (place <= 0.0) return 0.0;
  if (place >= 1.0) return 1.0;
  return place * place * (3.0 - 2.0 * place);
}

/// A level that rises from 0 at `on_s`, stays 1 and falls to 0 until `end_s`.
struct Swell {
  double on_s = 0.0;
  double rise_s = 0.1;
  double end_s = 1.0;
  double fall_s = 0.1;
  [[nodiscard]] double at(double time_s) const {
    return smooth_step((time_s - on_s) / rise_s) * smooth_step((end_s - time_s) / fall_s);
  }
};

/// One way a body rings.
struct Mode {
  double hz = 0.0;
  double tau_s = 0.0;  ///< time to fall by 1/e
  double gain = 1.0;
};

/// Strikes a body at `frame`: a contact of `contact_s` (a noisy half sine) rings its modes, which
/// are a little different at each strike. Adds to `out`; what would fall behind its end is cut.
/// Peak near `gain`.
void strike(Samples& out, double frame, std::span<const Mode> body, double contact_s, double gain,
            Random& random);

/// Adds `gain` × `from` to `to`, from the start of both.
void add(Samples& to, const Samples& from, double gain);

}  // namespace fourbeat::demo
