// SPDX-License-Identifier: GPL-3.0-or-later
#include "waves.h"

#include <algorithm>

namespace fourbeat::demo {

std::uint64_t seed_of(std::uint64_t seed, std::string_view part) {
  // FNV-1a (Fowler, Noll, Vo) over the name, then one step of the generator.
  std::uint64_t hash = 0xCBF29CE484222325ULL ^ seed;
  for (const char c : part) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001B3ULL;
  }
  return Random(hash).next();
}

Wander::Wander(std::uint64_t seed, double turns_hz)
    : random_(seed), step_(turns_hz / rate_hz), to_(random_.uniform(-1.0, 1.0)) {}

double Wander::next() {
  place_ += step_;
  if (place_ >= 1.0) {
    place_ -= 1.0;
    from_ = to_;
    to_ = random_.uniform(-1.0, 1.0);
  }
  return from_ + (to_ - from_) * smooth_step(place_);
}

namespace {

struct Angle {
  double cosine;
  double alpha;
};

Angle angle_of(double hz, double q) {
  const double turns = hz / rate_hz;
  return {cosine_turns(turns), sine_turns(turns) / (2.0 * q)};
}

}  // namespace

Biquad Biquad::low_pass(double hz, double q) {
  const Angle w = angle_of(hz, q);
  const double a0 = 1.0 + w.alpha;
  Biquad f;
  f.b1_ = (1.0 - w.cosine) / a0;
  f.b0_ = f.b2_ = 0.5 * f.b1_;
  f.a1_ = -2.0 * w.cosine / a0;
  f.a2_ = (1.0 - w.alpha) / a0;
  return f;
}

Biquad Biquad::high_pass(double hz, double q) {
  const Angle w = angle_of(hz, q);
  const double a0 = 1.0 + w.alpha;
  Biquad f;
  f.b0_ = f.b2_ = 0.5 * (1.0 + w.cosine) / a0;
  f.b1_ = -(1.0 + w.cosine) / a0;
  f.a1_ = -2.0 * w.cosine / a0;
  f.a2_ = (1.0 - w.alpha) / a0;
  return f;
}

Biquad Biquad::band_pass(double hz, double q) {
  const Angle w = angle_of(hz, q);
  const double a0 = 1.0 + w.alpha;
  Biquad f;
  f.b0_ = w.alpha / a0;
  f.b1_ = 0.0;
  f.b2_ = -f.b0_;
  f.a1_ = -2.0 * w.cosine / a0;
  f.a2_ = (1.0 - w.alpha) / a0;
  return f;
}

BandNoise::BandNoise(std::uint64_t seed, double low_hz, double high_hz)
    : noise_(seed),
      high_(Biquad::high_pass(low_hz)),
      low_(Biquad::low_pass(high_hz)),
      gain_(std::sqrt(0.5 * rate_hz / (1.11 * (high_hz - low_hz)))) {}

void strike(Samples& out, double frame, std::span<const Mode> body, double contact_s, double gain,
            Random& random) {
  const auto size = static_cast<std::int64_t>(out.size());
  const std::int64_t start = std::llround(frame);
  if (start < 0 || start >= size) return;
  const std::int64_t contact = std::max<std::int64_t>(2, frames_of(contact_s));
  std::vector<double> push(static_cast<std::size_t>(contact));
  double pushed = 0.0;
  for (std::int64_t i = 0; i < contact; ++i) {
    const double bow =
        sine_turns(0.5 * (static_cast<double>(i) + 0.5) / static_cast<double>(contact));
    push[static_cast<std::size_t>(i)] = bow * (1.0 + 0.7 * random.uniform(-1.0, 1.0));
    pushed += bow;
  }
  // What of the contact itself is heard: its rough edges.
  double before = 0.0;
  OnePole blunt(7000.0);
  for (std::int64_t n = 0; n < contact && start + n < size; ++n) {
    const double x = push[static_cast<std::size_t>(n)];
    out[static_cast<std::size_t>(start + n)] +=
        static_cast<float>(0.16 * gain * blunt.next(x - before));
    before = x;
  }
  double gains = 0.0;
  for (const Mode& mode : body)
    gains += mode.gain;
  for (const Mode& mode : body) {
    const double hz = mode.hz * (1.0 + random.uniform(-0.006, 0.006));
    const double r = decay_per_frame(mode.tau_s, rate_hz);
    const double turn = 2.0 * r * cosine_turns(hz / rate_hz);
    const double shrink = r * r;
    const double scale = gain * mode.gain / gains * (1.0 + random.uniform(-0.2, 0.2)) / pushed *
                         (1.0 + 3.0 * contact_s * hz);
    const std::int64_t end = std::min(size, start + contact + frames_of(9.0 * mode.tau_s));
    double y1 = 0.0;
    double y2 = 0.0;
    const double entry = sine_turns(hz / rate_hz);
    for (std::int64_t i = start; i < end; ++i) {
      const std::int64_t n = i - start;
      const double x = n < contact ? push[static_cast<std::size_t>(n)] * entry : 0.0;
      const double y = x + turn * y1 - shrink * y2;
      y2 = y1;
      y1 = y;
      out[static_cast<std::size_t>(i)] += static_cast<float>(scale * y);
    }
  }
}

void add(Samples& to, const Samples& from, double gain) {
  const std::size_t count = std::min(to.size(), from.size());
  const auto g = static_cast<float>(gain);
  for (std::size_t i = 0; i < count; ++i)
    to[i] += g * from[i];
}

}  // namespace fourbeat::demo
