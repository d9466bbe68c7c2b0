// SPDX-License-Identifier: GPL-3.0-or-later
#include "period.h"

#include "fourbeat/dsp/fft.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::dsp {

namespace {

constexpr double longest_tone_period_s = 0.05;
constexpr std::int64_t tone_blocks = 16;
constexpr double least_rhythm_db = 1.0;
constexpr double allowed_share_of_period = 0.05;

/// The first lag from `least` that peaks, after the curve has once fallen under `dip`, within a
/// tenth of the highest such peak; between lags by a parabola.
std::optional<double> first_high_peak(const std::vector<double>& r, std::size_t least, double dip) {
  std::size_t from = 1;
  while (from < r.size() && r[from] >= dip)
    ++from;
  from = std::max(from, least);
  const auto peaks_at = [&](std::size_t i) {
    return r[i] >= least_period_correlation && r[i] >= r[i - 1] && r[i] > r[i + 1];
  };
  double highest = 0.0;
  for (std::size_t i = from; i + 1 < r.size(); ++i) {
    if (peaks_at(i)) highest = std::max(highest, r[i]);
  }
  if (highest <= 0.0) return std::nullopt;
  for (std::size_t i = from; i + 1 < r.size(); ++i) {
    if (!peaks_at(i) || r[i] < 0.9 * highest) continue;
    const double bend = r[i - 1] - 2.0 * r[i] + r[i + 1];
    const double shift = bend < 0.0 ? 0.5 * (r[i - 1] - r[i + 1]) / bend : 0.0;
    return static_cast<double>(i) + std::clamp(shift, -0.5, 0.5);
  }
  return std::nullopt;
}

double wrapped(double offset, double period) {
  return offset - period * std::round(offset / period);
}

/// Where the stretch before `at` comes back about `distance` later: how far from that place, by
/// the highest correlation (means removed) within half a period.
double offset_at(std::span<const float> turn, std::int64_t at, std::int64_t window, double distance,
                 double period) {
  const auto n = static_cast<std::int64_t>(turn.size());
  const auto half = static_cast<std::int64_t>(period / 2.0);
  const std::int64_t step = std::max<std::int64_t>(1, half / 50);
  const std::int64_t whole = std::llround(distance);
  const auto stretch = [&](std::int64_t from, std::int64_t count) {
    std::vector<float> out(static_cast<std::size_t>(count));
    std::int64_t place = ((from % n) + n) % n;
    for (float& x : out) {
      x = turn[static_cast<std::size_t>(place)];
      if (++place == n) place = 0;
    }
    return out;
  };
  std::vector<float> before = stretch(at - window, window);
  const std::vector<float> after = stretch(at - window + whole - half, window + 2 * half);
  double mean = 0.0;
  for (const float x : before)
    mean += x;
  for (float& x : before)
    x -= static_cast<float>(mean / static_cast<double>(window));
  double best = -2.0;
  double best_offset = 0.0;
  for (std::int64_t shift = 0; shift <= 2 * half; shift += step) {
    const float* b = after.data() + shift;
    float sum = 0.0F;
    float square = 0.0F;
    float product = 0.0F;
    for (std::int64_t i = 0; i < window; ++i) {
      sum += b[i];
      square += b[i] * b[i];
      product += before[static_cast<std::size_t>(i)] * b[i];
    }
    const double spread =
        static_cast<double>(square) - static_cast<double>(sum) * sum / static_cast<double>(window);
    const double r = spread > 0.0 ? product / std::sqrt(spread) : 0.0;
    if (r > best * (best > 0.0 ? 1.000001 : 1.0)) {
      best = r;
      best_offset = static_cast<double>(whole + shift - half) - distance;
    }
  }
  return best_offset;
}

}  // namespace

std::vector<double> LagSums::normalised() const {
  std::vector<double> r(sums.size(), 0.0);
  for (std::size_t lag = 0; lag < r.size(); ++lag) {
    if (norms[lag] > 0.0) r[lag] = sums[lag] / norms[lag];
  }
  return r;
}

BlockCorrelator::BlockCorrelator(std::size_t most_samples, std::size_t lags)
    : fft_(good_fft_size(most_samples + lags)),
      out_(lags),
      powers_(fft_.size() / 2 + 1, 0.0),
      padded_(fft_.size(), 0.0F),
      bins_(fft_.size() / 2 + 1) {}

void BlockCorrelator::add(std::span<const float> block) {
  std::fill(padded_.begin(), padded_.end(), 0.0F);
  std::copy(block.begin(), block.end(), padded_.begin());
  fft_.forward(padded_, bins_);
  for (std::size_t k = 0; k < bins_.size(); ++k)
    powers_[k] += std::norm(bins_[k]);
  double total = 0.0;
  for (const float x : block)
    total += static_cast<double>(x) * x;
  double head = total;
  double tail = total;
  const std::size_t lags = std::min(out_.sums.size(), block.size());
  for (std::size_t lag = 0; lag < lags; ++lag) {
    out_.norms[lag] += std::sqrt(std::max(0.0, head) * std::max(0.0, tail));
    head -= static_cast<double>(block[block.size() - 1 - lag]) * block[block.size() - 1 - lag];
    tail -= static_cast<double>(block[lag]) * block[lag];
  }
}

LagSums BlockCorrelator::sums() {
  for (std::size_t k = 0; k < bins_.size(); ++k)
    bins_[k] = static_cast<float>(powers_[k]);
  fft_.inverse(bins_, padded_);
  const double scale = 1.0 / static_cast<double>(fft_.size());
  for (std::size_t lag = 0; lag < out_.sums.size(); ++lag)
    out_.sums[lag] = scale * padded_[lag];
  return out_;
}

std::optional<double> tone_period_frames(const std::vector<std::vector<float>>& channels,
                                         double sample_rate_hz) {
  if (channels.empty()) return std::nullopt;
  const auto frames = static_cast<std::int64_t>(channels.front().size());
  const auto longest =
      std::min(static_cast<std::int64_t>(longest_tone_period_s * sample_rate_hz), frames / 3);
  if (longest < 4) return std::nullopt;
  const std::int64_t size = std::min(frames, 8 * longest);
  const std::int64_t blocks = std::min(tone_blocks, frames / size);
  BlockCorrelator correlator(static_cast<std::size_t>(size), static_cast<std::size_t>(longest) + 2);
  for (const std::vector<float>& channel : channels) {
    for (std::int64_t b = 0; b < blocks; ++b) {
      const std::int64_t start = blocks == 1 ? 0 : b * (frames - size) / (blocks - 1);
      correlator.add(std::span(channel).subspan(static_cast<std::size_t>(start),
                                                static_cast<std::size_t>(size)));
    }
  }
  return first_high_peak(correlator.sums().normalised(), 2, 0.25);
}

std::optional<double> rhythm_period_steps(std::span<const float> level_db, std::int64_t longest) {
  const auto n = static_cast<std::int64_t>(level_db.size());
  const std::int64_t most = std::min(longest, n / 3);
  if (most < 12) return std::nullopt;
  // The trend, a straight line by least squares, is no rhythm.
  const double middle = static_cast<double>(n - 1) / 2.0;
  double mean = 0.0;
  double slope = 0.0;
  double spread = 0.0;
  for (std::int64_t i = 0; i < n; ++i) {
    const double t = static_cast<double>(i) - middle;
    mean += level_db[static_cast<std::size_t>(i)];
    slope += t * level_db[static_cast<std::size_t>(i)];
    spread += t * t;
  }
  mean /= static_cast<double>(n);
  slope /= spread;
  std::vector<float> rest(level_db.size());
  double power = 0.0;
  for (std::size_t i = 0; i < rest.size(); ++i) {
    rest[i] = static_cast<float>(level_db[i] - mean - slope * (static_cast<double>(i) - middle));
    power += static_cast<double>(rest[i]) * rest[i];
  }
  if (power < least_rhythm_db * least_rhythm_db * static_cast<double>(n)) return std::nullopt;
  BlockCorrelator correlator(rest.size(), static_cast<std::size_t>(most) + 2);
  correlator.add(rest);
  return first_high_peak(correlator.sums().normalised(), 10, 0.0);
}

bool runs_in_whole_periods(std::span<const float> turn, std::int64_t seam_count, double period) {
  constexpr std::int64_t inner_places = 32;
  constexpr std::int64_t least_window = 100;
  const auto n = static_cast<std::int64_t>(turn.size());
  const auto window = std::max(static_cast<std::int64_t>(std::ceil(period)), least_window);
  const double distance = period * std::ceil(static_cast<double>(seam_count + window) / period);
  const auto reach = static_cast<std::int64_t>(distance + period) + window;
  if (reach > n) return true;
  std::vector<double> inner;
  const std::int64_t first = seam_count + window;
  const std::int64_t last = n - reach + window;
  if (last >= first) {
    const std::int64_t places = std::min(inner_places, last - first + 1);
    for (std::int64_t i = 0; i < places; ++i) {
      const std::int64_t at = places == 1 ? first : first + i * (last - first) / (places - 1);
      inner.push_back(offset_at(turn, at, window, distance, period));
    }
  }
  double usual = 0.0;
  double allowed = allowed_share_of_period * period;
  if (inner.size() >= 8) {
    std::vector<double> sorted = inner;
    std::nth_element(sorted.begin(),
                     sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2), sorted.end());
    usual = sorted[sorted.size() / 2];
    for (double& offset : sorted)
      offset = std::abs(wrapped(offset - usual, period));
    std::sort(sorted.begin(), sorted.end());
    allowed = std::max(allowed, sorted[(sorted.size() - 1) * 95 / 100]);
  }
  // Half a step of the sequence is the least that can be told.
  allowed = std::max(allowed, 1.0);
  const double offset = offset_at(turn, 0, window, distance, period);
  return std::abs(wrapped(offset - usual, period)) <= allowed;
}

}  // namespace fourbeat::dsp
