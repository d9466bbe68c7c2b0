// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/pass_by.h"

#include "pass_search.h"
#include "pass_window.h"
#include "plain_log.h"
#include "turn_smoother.h"
#include "wheel_check.h"
#include "wheel_turns.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <span>
#include <utility>

namespace fourbeat::dsp {

namespace {

/// Road looked at around a pass-by, and how far one look lies from the next.
constexpr double window_m = 300.0;
constexpr double window_step_m = 60.0;
constexpr std::size_t least_beats = 32;
constexpr std::size_t passing_degree = 3;
/// Difference of the criterion that is "very strong".
constexpr double very_strong = 10.0;
/// The shift's size over what c gives it.
constexpr double share_off = 0.15;
constexpr double share_off_most = 0.4;
constexpr double share_sigmas = 3.0;
/// The beats' level against that of a source whose sound spreads freely: 1 without any compression.
constexpr double least_spreading = 0.2;
/// The most that levels add to what the times say, so that they alone never make a pass-by.
constexpr double most_louder = very_strong;

/// How many independent beats as many with these residuals are worth: (1 - r) / (1 + r) of them,
/// r the correlation of neighbours (a first-order process).
double independent(const std::vector<double>& left) {
  double all = 0.0;
  double beside = 0.0;
  for (std::size_t i = 0; i < left.size(); ++i) {
    all += left[i] * left[i];
    if (i > 0) beside += left[i] * left[i - 1];
  }
  const double r = all > 0.0 ? std::clamp(beside / all, 0.0, 0.98) : 0.0;
  return static_cast<double>(left.size()) * (1.0 - r) / (1.0 + r);
}

/// One window's answer.
struct Found {
  Passing passing;
  std::size_t degree = 0;
  double lead = 0.0;   ///< of the criterion over a motion without Doppler
  double sigma = 1.0;  ///< of the weighted residuals
};

std::optional<Found> look(const PassWindow& window, const PassingSearch& search,
                          bool metres_known) {
  const double nonlinear = metres_known ? 2.0 : 3.0;
  struct Weighed {
    PassingFit fit;
    std::vector<double> left;
    double parameters = 0.0;
  };
  // All models are weighed by the independent beats of the best of them, the fairest there is.
  std::vector<Weighed> passing;
  std::vector<Weighed> free;
  for (std::size_t degree = 1; degree <= pass_free_degree; ++degree) {
    std::vector<double> left = window.rest(window.times(), degree);
    const double squares = PassWindow::dot(left, left);
    free.push_back({{{}, degree, squares}, std::move(left), static_cast<double>(degree) + 1.0});
    if (degree > passing_degree) continue;
    PassingFit fit = search.best(degree);
    if (fit.squares == std::numeric_limits<double>::max()) return std::nullopt;
    left = search.residuals(fit.passing, degree);
    passing.push_back({fit, std::move(left), static_cast<double>(degree) + 1.0 + nonlinear});
  }
  const auto least = [](const std::vector<Weighed>& all) {
    return std::min_element(all.begin(), all.end(), [](const Weighed& a, const Weighed& b) {
      return a.fit.squares < b.fit.squares;
    });
  };
  const double worth = std::max(8.0, independent(least(passing)->left));
  const auto criterion = [&](const Weighed& model) {
    return worth * plain_ln(std::max(model.fit.squares, 1e-300)) +
           model.parameters * plain_ln(worth);
  };
  const auto best = [&](const std::vector<Weighed>& all) {
    return std::min_element(all.begin(), all.end(), [&](const Weighed& a, const Weighed& b) {
      return criterion(a) < criterion(b);
    });
  };
  const auto passed = best(passing);
  const double lead = criterion(*best(free)) - criterion(*passed);
  if (!(lead > very_strong)) return std::nullopt;
  // The size of the shift, left free.
  const std::vector<double> shift =
      window.rest(search.under_way(passed->fit.passing), passed->fit.degree);
  const double share =
      1.0 + PassWindow::dot(shift, passed->left) / std::max(PassWindow::dot(shift, shift), 1e-300);
  const double freedom = std::max(1.0, static_cast<double>(window.size()) - passed->parameters);
  // Correlated residuals tell less: the spread grows by as much.
  const double sigma =
      std::sqrt(passed->fit.squares / freedom * static_cast<double>(window.size()) / worth);
  const double share_sd = sigma / std::sqrt(std::max(PassWindow::dot(shift, shift), 1e-300));
  if (std::fabs(share - 1.0) > std::clamp(share_sigmas * share_sd, share_off, share_off_most))
    return std::nullopt;
  return Found{passed->fit.passing, passed->fit.degree, lead, sigma};
}

/// Standard deviations of what is told of a passing.
struct Spreads {
  double turned = 0.0;
  double ln_distance = 0.0;
  double ln_speed = 0.0;
};

/// Inverse of a symmetric positive definite matrix of n ≤ 3 rows, by Gauss and Jordan.
using Small = std::array<std::array<double, 3>, 3>;
Small inverted(Small a, std::size_t n) {
  Small out{};
  for (std::size_t i = 0; i < n; ++i)
    out[i][i] = 1.0;
  for (std::size_t i = 0; i < n; ++i) {
    const double pivot = std::max(a[i][i], 1e-300);
    for (std::size_t j = 0; j < n; ++j) {
      a[i][j] /= pivot;
      out[i][j] /= pivot;
    }
    for (std::size_t k = 0; k < n; ++k) {
      if (k == i) continue;
      const double share = a[k][i];
      for (std::size_t j = 0; j < n; ++j) {
        a[k][j] -= share * a[i][j];
        out[k][j] -= share * out[i][j];
      }
    }
  }
  return out;
}

/// From sigma² over the curvature of the sum of squares in all parameters, the polynomial's too:
/// Q orthonormal, S the slopes by the nonlinear ones, M = S'S less their part in Q.
Spreads spreads(const PassWindow& window, const PassingSearch& search, const Found& found,
                bool metres_known, double beat_s) {
  const std::size_t n = metres_known ? 2 : 3;
  const std::array<double, 3> steps{0.05, 0.01, 0.01};
  std::array<std::vector<double>, 3> slopes;
  std::array<std::vector<double>, 3> left;
  for (std::size_t i = 0; i < n; ++i) {
    const auto moved = [&](double by) {
      Passing p = found.passing;
      (i == 0 ? p.turned : i == 1 ? p.ln_distance : p.ln_metres) += by;
      return search.under_way(p);
    };
    const std::vector<double> up = moved(steps.at(i));
    const std::vector<double> down = moved(-steps.at(i));
    for (std::size_t k = 0; k < up.size(); ++k)
      slopes.at(i).push_back((up[k] - down[k]) / (2.0 * steps.at(i)));
    left.at(i) = window.rest(slopes.at(i), found.degree);
  }
  Small information{};
  std::array<double, 3> shares{};  // of each slope in the polynomial's own at the nearest point
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = 0; j < n; ++j)
      information.at(i).at(j) = PassWindow::dot(left.at(i), left.at(j));
    shares.at(i) = window.slope(slopes.at(i), found.degree, found.passing.turned);
  }
  const Small inverse = inverted(information, n);
  double beat_variance = window.slope_variance(found.degree, found.passing.turned);
  for (std::size_t i = 0; i < n; ++i)
    for (std::size_t j = 0; j < n; ++j)
      beat_variance += shares.at(i) * inverse.at(i).at(j) * shares.at(j);
  double speed_variance = beat_variance / (beat_s * beat_s);
  if (!metres_known) {
    double together = 0.0;
    for (std::size_t j = 0; j < n; ++j)
      together -= inverse[2].at(j) * shares.at(j);
    speed_variance += inverse[2][2] - 2.0 * together / beat_s;
  }
  return {found.sigma * std::sqrt(inverse[0][0]), found.sigma * std::sqrt(inverse[1][1]),
          found.sigma * std::sqrt(std::max(0.0, speed_variance))};
}

PassBy described(const PassWindow& window, const PassingSearch& search, const Found& found,
                 bool metres_known, double sound_speed_m_s) {
  std::vector<double> emitted = window.times();
  const std::vector<double> delays = search.under_way(found.passing);
  for (std::size_t i = 0; i < emitted.size(); ++i)
    emitted[i] -= delays[i];
  const double beat_s = window.slope(emitted, found.degree, found.passing.turned);
  const Spreads spread = spreads(window, search, found, metres_known, beat_s);
  PassBy out;
  out.distance_m = plain_exp(found.passing.ln_distance);
  out.distance_sd_m = out.distance_m * spread.ln_distance;
  out.metres_a_beat = plain_exp(found.passing.ln_metres);
  out.turned_beats = found.passing.turned;
  out.speed_kmh = kmh_of_m_s(out.metres_a_beat / beat_s);
  out.speed_sd_kmh = out.speed_kmh * spread.ln_speed;
  out.time_s = window.heard_at(found.passing.turned);
  out.time_sd_s = spread.turned * beat_s;
  out.sound_speed_m_s = sound_speed_m_s;
  return out;
}

/// How much more probable the stretch's beats are with the sound's way taken out than as heard:
/// a difference of twice the logarithm, as smooth motions of any kind, less what the parameters
/// of a passing cost by the Bayesian information criterion.
double lead_of(const TurnCurve& curve, const PassBy& pass_by, double heard_cost, bool metres_known,
               bool fused) {
  std::vector<double> left;
  for (const TurnKnot& knot : curve.knots) {
    const double x = pass_by.metres_a_beat * (knot.turned - pass_by.turned_beats);
    left.push_back(knot.time_s - std::sqrt(pass_by.distance_m * pass_by.distance_m + x * x) /
                                     pass_by.sound_speed_m_s);
  }
  const double parameters = metres_known ? 2.0 : 3.0;
  return heard_cost - motion_cost(curve.knots, left, fused) -
         parameters * plain_ln(static_cast<double>(curve.knots.size()));
}

/// What the beats' levels say of a passing.
struct Louder {
  double spreading = 1.0;  ///< their slope on that of sound that spreads freely, 20 dB a tenth
  double lead = 0.0;       ///< of the criterion over levels that follow a parabola
};

/// None: all beats are as loud, which says nothing.
std::optional<Louder> louder_near(const PassWindow& window, const PassBy& pass_by) {
  const std::size_t n = window.size();
  std::vector<HeardBeat> even;  // levels are all as sure
  std::vector<double> level;
  std::vector<double> free_field;
  even.reserve(n);
  level.reserve(n);
  free_field.reserve(n);
  for (std::size_t i = 0; i < n; ++i) {
    const double along = pass_by.metres_a_beat * (window.turned(i) - pass_by.turned_beats);
    even.push_back({window.turned(i), 0.0, 1.0, 0.0});
    level.push_back(window.level_db(i));
    free_field.push_back(-plain_db(pass_by.distance_m * pass_by.distance_m + along * along));
  }
  const PassWindow plain(even, pass_by.sound_speed_m_s);
  const std::vector<double> mean_out = plain.rest(level, 0);
  constexpr double least_variance_db2 = 1e-6;
  if (PassWindow::dot(mean_out, mean_out) < least_variance_db2 * static_cast<double>(n))
    return std::nullopt;
  const std::vector<double> shape = plain.rest(free_field, 0);
  const double spreading =
      PassWindow::dot(mean_out, shape) / std::max(PassWindow::dot(shape, shape), 1e-300);
  std::vector<double> left = mean_out;
  for (std::size_t i = 0; i < n; ++i)
    left[i] -= spreading * shape[i];
  const std::vector<double> parabola_out = plain.rest(level, 2);
  const double squares = std::max(PassWindow::dot(left, left), 1e-300);
  const double parabola_squares = std::max(PassWindow::dot(parabola_out, parabola_out), 1e-300);
  const double worth = std::max(8.0, independent(squares < parabola_squares ? left : parabola_out));
  // The parabola has one parameter more.
  return Louder{spreading, worth * plain_ln(parabola_squares / squares) + plain_ln(worth)};
}

/// One stretch of beats, looked through window by window.
class StretchLook {
 public:
  StretchLook(const BeatTrack& track, const BeatStretch& run, const WheelParams& wheel)
      : run_(run),
        sound_speed_m_s_(speed_of_sound_m_s(wheel.air_celsius)),
        usual_metres_(wheel_circumference_m(1.0) / static_cast<double>(wheel.beats_per_rev)) {
    if (wheel.driver_diameter_mm) metres_ = usual_metres_ * *wheel.driver_diameter_mm;
    const std::vector<TurnedBeat> beats =
        turned_beats(track, run, wheel.beats_per_rev, wheel.beat_angles_deg);
    curve_ = smooth_turns(beats, wheel.beats_per_rev, wheel.beat_angles_deg.empty(), run.fused);
    for (const TurnKnot& knot : curve_.knots) {
      const double rate = std::max(knot.smoothed.mean[1], 1e-3);
      if (!heard_.empty() && knot.turned <= heard_.back().turned) continue;
      heard_.push_back({knot.turned, knot.time_s, rate / knot.sigma, knot.level_db});
    }
  }

  /// Puts a pass-by into `surest` whose lead is greater than `lead`.
  void improve(std::optional<PassBy>& surest, double& lead) {
    const double metres =
        metres_.value_or(usual_metres_ * std::sqrt(smallest_driver_mm * largest_driver_mm));
    for (std::size_t from = 0; from < heard_.size();) {
      std::size_t to = from;
      while (to < heard_.size() && (heard_[to].turned - heard_[from].turned) * metres <= window_m)
        ++to;
      if (to - from >= least_beats) improve_in(from, to, surest, lead);
      if (to == heard_.size()) break;
      const double next = heard_[from].turned + window_step_m / metres;
      while (from < heard_.size() && heard_[from].turned < next)
        ++from;
    }
  }

 private:
  void improve_in(std::size_t from, std::size_t to, std::optional<PassBy>& surest, double& lead) {
    const PassWindow window(std::span<const HeardBeat>(heard_).subspan(from, to - from),
                            sound_speed_m_s_);
    const PassingSearch search(window, metres_, usual_metres_);
    const std::optional<Found> found = look(window, search, metres_.has_value());
    if (!found) return;
    PassBy one = described(window, search, *found, metres_.has_value(), sound_speed_m_s_);
    const Louder louder = louder_near(window, one).value_or(Louder{});
    if (louder.spreading < least_spreading) return;
    if (!heard_cost_) {
      std::vector<double> times;
      for (const TurnKnot& knot : curve_.knots)
        times.push_back(knot.time_s);
      heard_cost_ = motion_cost(curve_.knots, times, run_.fused);
    }
    const double own = lead_of(curve_, one, *heard_cost_, metres_.has_value(), run_.fused) +
                       std::clamp(louder.lead, 0.0, most_louder);
    if (!(own > lead)) return;
    lead = own;
    one.confidence = 1.0 / (1.0 + plain_exp(-std::min(0.5 * lead, 600.0)));
    one.range = run_.range;
    surest = one;
  }

  const BeatStretch& run_;
  double sound_speed_m_s_;
  double usual_metres_;  ///< road a beat covers for each mm of driver
  std::optional<double> metres_;
  TurnCurve curve_;
  std::vector<HeardBeat> heard_;
  std::optional<double> heard_cost_;
};

}  // namespace

double speed_of_sound_m_s(double air_celsius) {
  return 343.2 * std::sqrt((air_celsius + 273.15) / 293.15);
}

Result<std::optional<PassBy>> find_pass_by(const BeatTrack& track, const WheelParams& wheel) {
  if (const Status status = check_wheel(wheel); !status) return status.error();
  std::optional<PassBy> surest;
  double lead = very_strong;
  for (const BeatStretch& run : track.stretches)
    StretchLook(track, run, wheel).improve(surest, lead);
  return surest;
}

}  // namespace fourbeat::dsp
