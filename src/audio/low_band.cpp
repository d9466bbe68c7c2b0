// SPDX-License-Identifier: GPL-3.0-or-later
#include "low_band.h"

#include "fourbeat/base/decibels.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace fourbeat::audio {

namespace {

constexpr double coarse_rate_hz = 12'000.0;
constexpr double fine_rate_hz = 2'000.0;
constexpr double window_seconds = 4.0;
constexpr std::array<double, 5> line_offsets_hz{-0.5, -0.25, 0.0, 0.25, 0.5};
constexpr std::array<double, 10> beside_offsets_hz{-10.0, -8.0, -6.0, -4.0, -2.0,
                                                   2.0,   4.0,  6.0,  8.0,  10.0};
constexpr std::size_t points_a_line = line_offsets_hz.size() + beside_offsets_hz.size();
constexpr std::int64_t least_wind_frames = 4;

/// Lines under `top_hz`, ascending within each kind of mains.
std::vector<double> mains_lines(double top_hz) {
  std::vector<double> lines;
  for (const double mains_hz : {50.0, 60.0}) {
    for (int multiple = 1; multiple <= 10; ++multiple)
      lines.push_back(mains_hz * multiple);
  }
  for (int multiple = 1; multiple <= 6; ++multiple) {
    const double hz = 16.7 * multiple;
    if (std::none_of(lines.begin(), lines.end(),
                     [hz](double other) { return std::fabs(other - hz) < 1.5; })) {
      lines.push_back(hz);
    }
  }
  std::erase_if(lines, [top_hz](double hz) { return hz + 10.5 > top_hz; });
  return lines;
}

}  // namespace

double LowBand::Section::next(double x) {
  const double y = b0 * x + m1;
  m1 = b1 * x - a1 * y + m2;
  m2 = b2 * x - a2 * y;
  // Silence after sound: no crawl through the denormal numbers.
  if (std::fabs(m1) < 1e-30) m1 = 0.0;
  if (std::fabs(m2) < 1e-30) m2 = 0.0;
  return y;
}

// Second-order sections by the bilinear transform.
LowBand::Section LowBand::low_pass(double corner_hz, double q, double rate_hz) {
  const double k = std::tan(std::numbers::pi * std::min(corner_hz / rate_hz, 0.45));
  const double a0 = 1.0 + k / q + k * k;
  return {k * k / a0, 2.0 * k * k / a0, k * k / a0, 2.0 * (k * k - 1.0) / a0,
          (1.0 - k / q + k * k) / a0};
}

LowBand::Section LowBand::high_pass(double corner_hz, double q, double rate_hz) {
  const double k = std::tan(std::numbers::pi * std::min(corner_hz / rate_hz, 0.45));
  const double a0 = 1.0 + k / q + k * k;
  return {1.0 / a0, -2.0 / a0, 1.0 / a0, 2.0 * (k * k - 1.0) / a0, (1.0 - k / q + k * k) / a0};
}

LowBand::LowBand(double sample_rate_hz) : wind_filter_{} {
  coarse_ = std::max<std::size_t>(1, static_cast<std::size_t>(sample_rate_hz / coarse_rate_hz));
  const double coarse_hz = sample_rate_hz / static_cast<double>(coarse_);
  fine_ = std::max<std::size_t>(1, static_cast<std::size_t>(coarse_hz / fine_rate_hz));
  rate_hz_ = coarse_hz / static_cast<double>(fine_);

  // Blackman's window over a sinc with its corner at 0.4 of the new rate.
  const std::size_t length = fine_ == 1 ? 1 : 12 * fine_ + 1;
  double sum = 0.0;
  for (std::size_t i = 0; i < length; ++i) {
    const double t = static_cast<double>(i) - static_cast<double>(length - 1) / 2.0;
    const double x = 2.0 * 0.4 / static_cast<double>(fine_) * t;
    const double sinc = x == 0.0 ? 1.0 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
    const double angle = length == 1 ? std::numbers::pi
                                     : 2.0 * std::numbers::pi * (static_cast<double>(i) + 0.5) /
                                           static_cast<double>(length);
    const double tap = sinc * (0.42 - 0.5 * std::cos(angle) + 0.08 * std::cos(2.0 * angle));
    taps_.push_back(tap);
    sum += tap;
  }
  for (double& tap : taps_)
    tap /= sum;
  until_output_ = taps_.size();

  const auto window = static_cast<std::size_t>(std::llround(window_seconds * rate_hz_));
  for (std::size_t i = 0; i < window; ++i) {
    window_.push_back(0.5 - 0.5 * std::cos(2.0 * std::numbers::pi * static_cast<double>(i) /
                                           static_cast<double>(window)));
  }
  samples_.reserve(window);
  line_hz_ = mains_lines(0.4 * rate_hz_);
  for (const double hz : line_hz_) {
    for (const double offset_hz : line_offsets_hz)
      point_hz_.push_back(hz + offset_hz);
    for (const double offset_hz : beside_offsets_hz)
      point_hz_.push_back(hz + offset_hz);
  }
  for (const double hz : point_hz_)
    turn_.push_back(2.0 * std::cos(2.0 * std::numbers::pi * hz / rate_hz_));
  point_power_.assign(point_hz_.size(), 0.0);

  constexpr double first_q = 0.54119610014619701;  // Butterworth of fourth order
  constexpr double second_q = 1.3065629648763766;
  wind_filter_ = {low_pass(40.0, first_q, rate_hz_), low_pass(40.0, second_q, rate_hz_),
                  high_pass(5.0, std::numbers::sqrt2 / 2.0, rate_hz_)};
  wind_frame_ = std::max<std::size_t>(1, static_cast<std::size_t>(std::llround(0.5 * rate_hz_)));
}

void LowBand::add(MonoView block) {
  for (const float sample : block) {
    mean_sum_ += static_cast<double>(sample);
    if (++in_mean_ < coarse_) continue;
    line_.push_back(mean_sum_ / static_cast<double>(coarse_));
    mean_sum_ = 0.0;
    in_mean_ = 0;
  }
  // Outputs for which all taps are there; until_output_ counts from the line's start.
  std::size_t end = until_output_;
  for (; end <= line_.size(); end += fine_) {
    const double* from = line_.data() + (end - taps_.size());
    double sum = 0.0;
    for (std::size_t i = 0; i < taps_.size(); ++i)
      sum += taps_[i] * from[i];
    add_reduced(sum);
  }
  const std::size_t used = end - taps_.size();
  const std::size_t drop = std::min(used, line_.size());
  line_.erase(line_.begin(), line_.begin() + static_cast<std::ptrdiff_t>(drop));
  until_output_ = end - drop;
}

void LowBand::add_reduced(double sample) {
  samples_.push_back(sample);
  if (samples_.size() == window_.size()) end_of_window();
  double low = sample;
  for (Section& section : wind_filter_)
    low = section.next(low);
  wind_sum_ += low * low;
  if (++in_wind_frame_ == wind_frame_) {
    wind_frames_.add(wind_sum_ / static_cast<double>(wind_frame_));
    wind_total_ += wind_sum_;
    in_wind_frame_ = 0;
    wind_sum_ = 0.0;
  }
}

// Goertzel's recurrence at all points together.
void LowBand::end_of_window() {
  ++windows_;
  const bool silent =
      std::all_of(samples_.begin(), samples_.end(), [](double sample) { return sample == 0.0; });
  if (!silent) {
    const std::size_t points = turn_.size();
    s1_.assign(points, 0.0);
    s2_.assign(points, 0.0);
    for (std::size_t n = 0; n < samples_.size(); ++n) {
      const double x = samples_[n] * window_[n];
      for (std::size_t p = 0; p < points; ++p) {
        const double s0 = x + turn_[p] * s1_[p] - s2_[p];
        s2_[p] = s1_[p];
        s1_[p] = s0;
      }
    }
    for (std::size_t p = 0; p < points; ++p) {
      point_power_[p] += s1_[p] * s1_[p] + s2_[p] * s2_[p] - turn_[p] * s1_[p] * s2_[p];
    }
  }
  samples_.clear();
}

void LowBand::report(double power, ChannelReport& into) const {
  double best = 0.0;
  for (std::size_t line = 0; line < line_hz_.size(); ++line) {
    const auto* const points = point_power_.data() + line * points_a_line;
    double beside = 0.0;
    for (std::size_t i = line_offsets_hz.size(); i < points_a_line; ++i)
      beside += points[i];
    beside /= static_cast<double>(beside_offsets_hz.size());
    const double at = *std::max_element(points, points + line_offsets_hz.size());
    if (!(beside > 0.0) || !(at / beside > best)) continue;
    best = at / beside;
    into.hum_hz = line_hz_[line];
    into.hum_db = db_of_power(best);
  }

  if (wind_frames_.count() < least_wind_frames) return;
  const double mean = wind_total_ / static_cast<double>(wind_frames_.count() *
                                                        static_cast<std::int64_t>(wind_frame_));
  const std::optional<double> median_db = wind_frames_.percentile_db(0.5);
  const double median = median_db ? std::pow(10.0, *median_db / 10.0) : 0.0;
  if (!(mean > 0.0)) return;
  const double gusting = std::clamp(1.0 - median / mean, 0.0, 1.0);
  const double rest = std::max(power - mean, power * 1e-6);
  if (rest > 0.0) into.wind_db = db_of_power(gusting * mean / rest);
}

}  // namespace fourbeat::audio
