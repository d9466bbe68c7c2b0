// SPDX-License-Identifier: GPL-3.0-or-later
#include "pass_search.h"

#include "plain_log.h"

#include <utility>

namespace fourbeat::dsp {

namespace {

constexpr double nearest_m = 1.0;
constexpr double farthest_m = 60.0;
/// The nearest point lies this far inside the window's ends, so that it is seen to pass.
constexpr double edge_share = 0.2;
/// A step of the search that gains less is none.
constexpr double least_gain = 1e-6;

}  // namespace

PassingFit PassingSearch::best(std::size_t degree) const {
  const std::vector<double> times = window_.rest(window_.times(), degree);
  PassingFit fit;
  fit.degree = degree;
  const double from = window_.front().turned;
  const double length = window_.back().turned - from;
  for (int place = 0; place <= 20; ++place) {
    const double turned = from + length * (edge_share + (1.0 - 2.0 * edge_share) * place / 20.0);
    for (double distance = 2.0; distance <= farthest_m; distance *= 2.2) {
      for (const double metres : metres_tried()) {
        consider({turned, plain_ln(distance), plain_ln(metres)}, degree, times, fit);
      }
    }
  }
  Passing step{length * 0.02, 0.4, metres_a_beat_ ? 0.0 : 0.1};
  while (step.ln_distance > 0.002) {
    const Passing at = fit.passing;
    bool better = false;
    for (const double sign : {1.0, -1.0}) {
      better |= consider({at.turned + sign * step.turned, at.ln_distance, at.ln_metres}, degree,
                         times, fit);
      better |= consider({at.turned, at.ln_distance + sign * step.ln_distance, at.ln_metres},
                         degree, times, fit);
      if (!metres_a_beat_)
        better |= consider({at.turned, at.ln_distance, at.ln_metres + sign * step.ln_metres},
                           degree, times, fit);
    }
    if (better) continue;
    step = {step.turned * 0.5, step.ln_distance * 0.5, step.ln_metres * 0.5};
  }
  return fit;
}

std::vector<double> PassingSearch::residuals(const Passing& p, std::size_t degree) const {
  std::vector<double> left = window_.times();
  const std::vector<double> delays = under_way(p);
  for (std::size_t i = 0; i < left.size(); ++i)
    left[i] -= delays[i];
  return window_.rest(std::move(left), degree);
}

std::vector<double> PassingSearch::under_way(const Passing& p) const {
  return window_.under_way(p.turned, plain_exp(p.ln_distance), plain_exp(p.ln_metres));
}

std::vector<double> PassingSearch::metres_tried() const {
  if (metres_a_beat_) return {*metres_a_beat_};
  std::vector<double> tried;
  for (int i = 0; i <= 6; ++i)
    tried.push_back(usual_metres_ *
                    (smallest_driver_mm + (largest_driver_mm - smallest_driver_mm) * i / 6.0));
  return tried;
}

bool PassingSearch::consider(const Passing& p, std::size_t degree, const std::vector<double>& times,
                             PassingFit& fit) const {
  const double from = window_.front().turned;
  const double share = (p.turned - from) / (window_.back().turned - from);
  if (share < edge_share || share > 1.0 - edge_share) return false;
  if (p.ln_distance < plain_ln(nearest_m) || p.ln_distance > plain_ln(farthest_m)) return false;
  if (!metres_a_beat_ && (p.ln_metres < plain_ln(usual_metres_ * smallest_driver_mm) ||
                          p.ln_metres > plain_ln(usual_metres_ * largest_driver_mm)))
    return false;
  std::vector<double> left = window_.rest(under_way(p), degree);
  double squares = 0.0;
  for (std::size_t i = 0; i < left.size(); ++i)
    squares += (times[i] - left[i]) * (times[i] - left[i]);
  if (!(squares < fit.squares * (1.0 - least_gain))) return false;
  fit.squares = squares;
  fit.passing = p;
  return true;
}

}  // namespace fourbeat::dsp
