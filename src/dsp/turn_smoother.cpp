// SPDX-License-Identifier: GPL-3.0-or-later
#include "turn_smoother.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace fourbeat::dsp {

namespace {

/// Noise of a beat's place at `noise` 1: of the angle (steam is turbulent), of the time (5 ms
/// envelope).
constexpr double angle_sigma = 0.01;
constexpr double time_sigma_s = 0.002;
/// Prior of the acceleration: 0.7 beats/s², what a light engine or a brake can (beat_path.cpp).
constexpr double acceleration_sigma = 0.7;
/// Priors of jerk density and noise: a regulator changes the acceleration by 0.1 m/s² in 10 s, at
/// about 1 m a beat; a factor of 10 and of 3 either way is one standard deviation (common
/// practice, no source).
constexpr double usual_jerk = 1e-3;
constexpr double ln_jerk_sigma = 2.3;
constexpr double ln_noise_sigma = 1.1;
constexpr double tail_freedom = 5.0;
/// Fused beats this near to one another are one measurement.
constexpr double fused_window_s = 1.28;
constexpr int rounds = 4;
constexpr double offset_revolutions = 8.0;
/// A beat that nobody heard stands midway between two and is no measurement.
constexpr std::size_t least_beats = 3;

using Vector = std::array<double, 3>;
using Matrix = std::array<double, 9>;

Matrix product(const Matrix& a, const Matrix& b) {
  Matrix c{};
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      for (std::size_t k = 0; k < 3; ++k)
        c[3 * i + j] += a[3 * i + k] * b[3 * k + j];
  return c;
}
Matrix transposed(const Matrix& a) {
  return {a[0], a[3], a[6], a[1], a[4], a[7], a[2], a[5], a[8]};
}
Vector product(const Matrix& a, const Vector& x) {
  return {a[0] * x[0] + a[1] * x[1] + a[2] * x[2], a[3] * x[0] + a[4] * x[1] + a[5] * x[2],
          a[6] * x[0] + a[7] * x[1] + a[8] * x[2]};
}
/// Inverse of a symmetric positive definite matrix, by cofactors.
Matrix inverse(const Matrix& a) {
  const double c0 = a[4] * a[8] - a[5] * a[7];
  const double c1 = a[5] * a[6] - a[3] * a[8];
  const double c2 = a[3] * a[7] - a[4] * a[6];
  const double d = a[0] * c0 + a[1] * c1 + a[2] * c2;
  return {c0 / d, (a[2] * a[7] - a[1] * a[8]) / d, (a[1] * a[5] - a[2] * a[4]) / d,
          c1 / d, (a[0] * a[8] - a[2] * a[6]) / d, (a[2] * a[3] - a[0] * a[5]) / d,
          c2 / d, (a[1] * a[6] - a[0] * a[7]) / d, (a[0] * a[4] - a[1] * a[3]) / d};
}

Matrix step_matrix(double dt) {
  return {1.0, dt, 0.5 * dt * dt, 0.0, 1.0, dt, 0.0, 0.0, 1.0};
}

TurnState predicted(const TurnState& from, double dt, double jerk) {
  const Matrix f = step_matrix(dt);
  TurnState to;
  to.mean = product(f, from.mean);
  to.cov = product(product(f, from.cov), transposed(f));
  const double q1 = jerk * dt;
  const double q2 = q1 * dt / 2.0;
  const double q3 = q1 * dt * dt / 3.0;
  const Matrix driven{q3 * dt * dt * 3.0 / 20.0,
                      q2 * dt * dt / 4.0,
                      q2 * dt / 3.0,
                      q2 * dt * dt / 4.0,
                      q3,
                      q2,
                      q2 * dt / 3.0,
                      q2,
                      q1};
  for (std::size_t i = 0; i < 9; ++i)
    to.cov[i] += driven[i];
  return to;
}

/// What `later`, smoothed, says of `now`, which leads to `ahead` = predicted(now).
TurnState smoothed(const TurnState& now, double dt, const TurnState& ahead,
                   const TurnState& later) {
  const Matrix gain = product(product(now.cov, transposed(step_matrix(dt))), inverse(ahead.cov));
  Vector off{};
  Matrix less{};
  for (std::size_t i = 0; i < 3; ++i)
    off[i] = later.mean[i] - ahead.mean[i];
  for (std::size_t i = 0; i < 9; ++i)
    less[i] = later.cov[i] - ahead.cov[i];
  TurnState out = now;
  const Vector moved = product(gain, off);
  const Matrix shrunk = product(product(gain, less), transposed(gain));
  for (std::size_t i = 0; i < 3; ++i)
    out.mean[i] += moved[i];
  for (std::size_t i = 0; i < 9; ++i)
    out.cov[i] += shrunk[i];
  return out;
}

/// One beat as a measurement.
struct Sight {
  double time_s = 0.0;
  double turned = 0.0;
  double variance = 0.0;  ///< at noise 1
  double weight = 1.0;    ///< of the variance: above 1 where it strays
  double shared = 1.0;    ///< beats that make one measurement together
  int place = 0;
  double level_db = 0.0;
};

struct Laws {
  double ln_jerk = 0.0;
  double ln_noise = 0.0;
};

class Smoother {
 public:
  Smoother(std::vector<Sight> sights, bool fused)
      : sights_(std::move(sights)), least_ln_noise_(fused ? 0.0 : -4.0) {
    const std::size_t span = std::min<std::size_t>(sights_.size() - 1, 4);
    const double rate =
        (sights_[span].turned - sights_[0].turned) / (sights_[span].time_s - sights_[0].time_s);
    start_.mean = {sights_[0].turned, rate, 0.0};
    start_.cov = {
        1.0, 0.0, 0.0, 0.0, rate * rate, 0.0, 0.0, 0.0, acceleration_sigma * acceleration_sigma};
  }

  /// Twice the negative logarithm of the posterior, to a constant; fills knots when asked.
  double filter(const Laws& laws, std::vector<TurnKnot>* knots) const {
    const double jerk = plain_exp(laws.ln_jerk);
    const double noise2 = plain_exp(2.0 * laws.ln_noise);
    double cost = square((laws.ln_jerk - plain_ln(usual_jerk)) / ln_jerk_sigma) +
                  square(laws.ln_noise / ln_noise_sigma);
    TurnState state = start_;
    for (std::size_t i = 0; i < sights_.size(); ++i) {
      const Sight& sight = sights_[i];
      if (i > 0) state = predicted(state, sight.time_s - sights_[i - 1].time_s, jerk);
      const double off = sight.turned - state.mean[0];
      const double spread = state.cov[0] + noise2 * sight.variance * sight.weight;
      cost += plain_ln(spread) + off * off / spread;
      const Vector gain{state.cov[0] / spread, state.cov[3] / spread, state.cov[6] / spread};
      const Vector row{state.cov[0], state.cov[1], state.cov[2]};
      for (std::size_t a = 0; a < 3; ++a) {
        state.mean[a] += gain[a] * off;
        for (std::size_t b = 0; b < 3; ++b)
          state.cov[3 * a + b] -= gain[a] * row[b];
      }
      if (knots != nullptr) {
        const double sigma = std::sqrt(noise2 * sight.variance * sight.weight);
        knots->push_back(
            {sight.time_s, sight.turned, sigma, sight.weight, sight.level_db, state, state});
      }
    }
    return cost;
  }

  /// The most probable laws near `laws`, by compass search (Kolda, Lewis and Torczon, SIAM Review
  /// 45, 2003).
  [[nodiscard]] Laws best_laws(Laws laws) const {
    double best = filter(laws, nullptr);
    for (double step = 2.0; step > 0.15;) {
      bool better = false;
      for (const Laws& move :
           {Laws{step, 0.0}, Laws{-step, 0.0}, Laws{0.0, 0.5 * step}, Laws{0.0, -0.5 * step}}) {
        const Laws tried{std::clamp(laws.ln_jerk + move.ln_jerk, -18.0, 10.0),
                         std::clamp(laws.ln_noise + move.ln_noise, least_ln_noise_, 4.0)};
        const double cost = filter(tried, nullptr);
        if (cost < best - 1e-9) {
          best = cost;
          laws = tried;
          better = true;
        }
      }
      if (!better) step *= 0.5;
    }
    return laws;
  }

  [[nodiscard]] std::vector<TurnKnot> smooth(const Laws& laws) const {
    std::vector<TurnKnot> knots;
    filter(laws, &knots);
    const double jerk = plain_exp(laws.ln_jerk);
    for (std::size_t i = knots.size() - 1; i-- > 0;) {
      const double dt = knots[i + 1].time_s - knots[i].time_s;
      knots[i].smoothed = smoothed(knots[i].filtered, dt, predicted(knots[i].filtered, dt, jerk),
                                   knots[i + 1].smoothed);
    }
    return knots;
  }

  /// Weighs each beat anew by how far it strays.
  void weigh(std::span<const TurnKnot> knots, const Laws& laws) {
    const double noise2 = plain_exp(2.0 * laws.ln_noise);
    for (std::size_t i = 0; i < sights_.size(); ++i) {
      const double off = sights_[i].turned - knots[i].smoothed.mean[0];
      const double stray2 = off * off / (noise2 * sights_[i].variance);
      sights_[i].weight = sights_[i].shared * (tail_freedom + stray2) / (tail_freedom + 1.0);
    }
  }

  /// Moves what each place's beats are early or late on the mean into `offsets`.
  void take_offsets_out(std::span<const TurnKnot> knots, std::vector<double>& offsets) {
    std::vector<double> sum(offsets.size(), 0.0);
    std::vector<double> weight(offsets.size(), 0.0);
    for (std::size_t i = 0; i < sights_.size(); ++i) {
      const auto place = static_cast<std::size_t>(sights_[i].place);
      const double share = 1.0 / (sights_[i].variance * sights_[i].weight);
      sum[place] += share * (sights_[i].turned - knots[i].smoothed.mean[0]);
      weight[place] += share;
    }
    double mean = 0.0;
    for (std::size_t p = 0; p < sum.size(); ++p) {
      if (!(weight[p] > 0.0)) return;
      sum[p] /= weight[p];
      mean += sum[p] / static_cast<double>(sum.size());
    }
    // A place whose beats come late has turned less for its time: `turned` counts too little.
    for (std::size_t p = 0; p < sum.size(); ++p)
      offsets[p] -= sum[p] - mean;
    for (Sight& sight : sights_)
      sight.turned -= sum[static_cast<std::size_t>(sight.place)] - mean;
  }

 private:
  static double square(double x) { return x * x; }

  std::vector<Sight> sights_;
  double least_ln_noise_;
  TurnState start_;
};

std::vector<Sight> sights_of(std::span<const TurnedBeat> beats, bool fused) {
  std::vector<Sight> sights;
  for (const TurnedBeat& beat : beats) {
    if (!beat.heard || (!sights.empty() && beat.time_s <= sights.back().time_s)) continue;
    sights.push_back({beat.time_s, beat.turned, 0.0, 1.0, 1.0, beat.place, beat.level_db});
  }
  for (std::size_t i = 0; i < sights.size(); ++i) {
    // The rate over four beats around.
    const std::size_t low = i > 2 ? i - 2 : 0;
    const std::size_t high = std::min(sights.size() - 1, i + 2);
    if (low == high) continue;
    const double rate =
        (sights[high].turned - sights[low].turned) / (sights[high].time_s - sights[low].time_s);
    sights[i].variance = angle_sigma * angle_sigma + rate * rate * time_sigma_s * time_sigma_s;
    if (fused) sights[i].shared = std::max(1.0, rate * fused_window_s);
    sights[i].weight = sights[i].shared;
  }
  return sights;
}

}  // namespace

TurnState state_at(const TurnCurve& curve, double time_s) {
  const auto after =
      std::upper_bound(curve.knots.begin(), curve.knots.end(), time_s,
                       [](double time, const TurnKnot& knot) { return time < knot.time_s; });
  if (after == curve.knots.begin()) return curve.knots.front().smoothed;
  if (after == curve.knots.end()) return curve.knots.back().smoothed;
  const TurnKnot& before = *(after - 1);
  const TurnState here = predicted(before.filtered, time_s - before.time_s, curve.jerk_density);
  const double dt = after->time_s - time_s;
  return smoothed(here, dt, predicted(here, dt, curve.jerk_density), after->smoothed);
}

double motion_cost(std::span<const TurnKnot> knots, std::span<const double> times_s, bool fused) {
  std::vector<TurnedBeat> beats;
  for (std::size_t i = 0; i < knots.size(); ++i)
    beats.push_back({i, times_s[i], knots[i].turned, 0, 0.0, true});
  std::vector<Sight> sights = sights_of(beats, fused);
  if (sights.size() != knots.size() || sights.size() < least_beats) return 0.0;
  for (std::size_t i = 0; i < sights.size(); ++i)
    sights[i].weight = knots[i].weight;
  const Smoother smoother(std::move(sights), fused);
  return smoother.filter(smoother.best_laws({plain_ln(usual_jerk), 0.0}), nullptr);
}

TurnCurve smooth_turns(std::span<const TurnedBeat> beats, int beats_per_rev, bool measure_offsets,
                       bool fused) {
  TurnCurve curve;
  curve.place_offsets.assign(static_cast<std::size_t>(beats_per_rev), 0.0);
  const std::vector<Sight> sights = sights_of(beats, fused);
  if (sights.size() < least_beats || !(sights.back().turned > sights.front().turned)) return curve;
  const bool offsets =
      measure_offsets && !fused && beats_per_rev > 1 &&
      static_cast<double>(sights.size()) >= offset_revolutions * static_cast<double>(beats_per_rev);
  Smoother smoother(sights, fused);
  Laws laws{plain_ln(usual_jerk), 0.0};
  for (int round = 0; round < rounds; ++round) {
    laws = smoother.best_laws(laws);
    curve.knots = smoother.smooth(laws);
    if (round + 1 == rounds) break;
    if (offsets) smoother.take_offsets_out(curve.knots, curve.place_offsets);
    smoother.weigh(curve.knots, laws);
  }
  curve.jerk_density = plain_exp(laws.ln_jerk);
  curve.noise = plain_exp(laws.ln_noise);
  curve.offsets_measured = offsets;
  return curve;
}

}  // namespace fourbeat::dsp
