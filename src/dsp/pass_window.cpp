// SPDX-License-Identifier: GPL-3.0-or-later
#include "pass_window.h"

#include <cmath>
#include <utility>

namespace fourbeat::dsp {

PassWindow::PassWindow(std::span<const HeardBeat> beats, double sound_speed_m_s)
    : beats_(beats), sound_speed_m_s_(sound_speed_m_s) {
  const double from = beats.front().turned;
  const double half = 0.5 * (beats.back().turned - from);
  std::vector<double> power(beats.size(), 1.0);
  for (std::size_t degree = 0; degree <= pass_free_degree; ++degree) {
    std::vector<double> column = power;
    for (std::size_t i = 0; i < beats.size(); ++i)
      column[i] *= beats[i].weight;
    // Twice, so that rounding leaves nothing of the lower ones (Kahan's "twice is enough").
    for (int again = 0; again < 2; ++again)
      for (const std::vector<double>& lower : columns_)
        take_out(lower, column);
    const double length = std::sqrt(dot(column, column));
    for (double& x : column)
      x /= length;
    columns_.push_back(std::move(column));
    for (std::size_t i = 0; i < beats.size(); ++i)
      power[i] *= (beats[i].turned - from) / half - 1.0;
  }
  times_.reserve(beats.size());
  for (const HeardBeat& beat : beats)
    times_.push_back((beat.time_s - beats.front().time_s) * beat.weight);
}

std::vector<double> PassWindow::under_way(double turned, double distance_m,
                                          double metres_a_beat) const {
  std::vector<double> delays;
  delays.reserve(beats_.size());
  for (const HeardBeat& beat : beats_) {
    const double x = metres_a_beat * (beat.turned - turned);
    delays.push_back(std::sqrt(distance_m * distance_m + x * x) / sound_speed_m_s_ * beat.weight);
  }
  return delays;
}

double PassWindow::slope(const std::vector<double>& values, std::size_t degree,
                         double turned) const {
  // By the beats themselves: fitted times at both neighbours of the place, over their turning.
  std::vector<double> left = rest(values, degree);
  const auto fitted = [&](std::size_t i) { return (values[i] - left[i]) / beats_[i].weight; };
  std::size_t after = 1;
  while (after + 1 < beats_.size() && beats_[after].turned < turned)
    ++after;
  return (fitted(after) - fitted(after - 1)) / (beats_[after].turned - beats_[after - 1].turned);
}

double PassWindow::slope_variance(std::size_t degree, double turned) const {
  double sum = 0.0;
  for (std::size_t k = 0; k <= degree; ++k) {
    const double own = slope(columns_[k], degree, turned);
    sum += own * own;
  }
  return sum;
}

double PassWindow::heard_at(double turned) const {
  std::size_t after = 1;
  while (after + 1 < beats_.size() && beats_[after].turned < turned)
    ++after;
  const HeardBeat& a = beats_[after - 1];
  const HeardBeat& b = beats_[after];
  return a.time_s + (turned - a.turned) / (b.turned - a.turned) * (b.time_s - a.time_s);
}

}  // namespace fourbeat::dsp
