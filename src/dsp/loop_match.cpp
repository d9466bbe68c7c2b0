// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_match.h"

#include "fourbeat/audio/pcm.h"
#include "fourbeat/dsp/fft.h"

#include <algorithm>
#include <cmath>
#include <complex>

namespace fourbeat::dsp {

namespace {

/// Sums a[i] × b[i + shift] for every shift for which all of `a` lies in `b`.
class SlidingProduct {
 public:
  explicit SlidingProduct(std::size_t most_samples)
      : fft_(good_fft_size(most_samples)),
        work_(fft_.size()),
        a_bins_(fft_.size() / 2 + 1),
        b_bins_(fft_.size() / 2 + 1) {}

  void add(audio::MonoView a, audio::MonoView b, std::vector<double>& sums) {
    transform(a, a_bins_);
    transform(b, b_bins_);
    for (std::size_t k = 0; k < a_bins_.size(); ++k)
      b_bins_[k] *= std::conj(a_bins_[k]);
    fft_.inverse(b_bins_, work_);
    for (std::size_t shift = 0; shift < sums.size(); ++shift)
      sums[shift] += static_cast<double>(work_[shift]) / static_cast<double>(fft_.size());
  }

 private:
  void transform(audio::MonoView samples, std::vector<std::complex<float>>& bins) {
    std::copy(samples.begin(), samples.end(), work_.begin());
    std::fill(work_.begin() + static_cast<std::ptrdiff_t>(samples.size()), work_.end(), 0.0F);
    fft_.forward(work_, bins);
  }

  RealFft fft_;
  std::vector<float> work_;
  std::vector<std::complex<float>> a_bins_;
  std::vector<std::complex<float>> b_bins_;
};

double power(audio::MonoView samples) {
  double sum = 0.0;
  for (const float x : samples)
    sum += static_cast<double>(x) * x;
  return sum;
}

}  // namespace

MatchedEnd match_end(const std::vector<std::vector<float>>& channels, const MatchSpan& span,
                     std::int64_t rough_end_frame) {
  const std::int64_t start = span.start_frame;
  const std::int64_t first = span.first_end_frame;
  const std::int64_t last = span.last_end_frame;
  const auto frames = static_cast<std::int64_t>(channels.front().size());
  MatchedEnd matched{std::clamp(rough_end_frame, first, last), 0.0};
  const std::int64_t before = std::min({span.reach_frames, start, first});
  const std::int64_t after = std::min(span.reach_frames, frames - last);
  if (before + after < 2) return matched;

  const auto width = static_cast<std::size_t>(before + after);
  const auto count = static_cast<std::size_t>(last - first + 1);
  SlidingProduct product(width + count - 1);
  std::vector<double> products(count, 0.0);
  std::vector<double> powers(count, 0.0);
  double own_power = 0.0;
  for (const std::vector<float>& channel : channels) {
    const audio::MonoView all(channel);
    const audio::MonoView here = all.subspan(static_cast<std::size_t>(start - before), width);
    const audio::MonoView there =
        all.subspan(static_cast<std::size_t>(first - before), width + count - 1);
    product.add(here, there, products);
    own_power += power(here);
    double there_power = power(there.first(width));
    for (std::size_t k = 0; k < count; ++k) {
      powers[k] += std::max(0.0, there_power);
      if (k + 1 == count) break;
      there_power += static_cast<double>(there[k + width]) * there[k + width] -
                     static_cast<double>(there[k]) * there[k];
    }
  }
  double highest = -2.0;
  for (std::size_t k = 0; k < count; ++k) {
    const double norm = std::sqrt(own_power * powers[k]);
    if (!(norm > 0.0)) continue;
    const double rho = std::clamp(products[k] / norm, -1.0, 1.0);
    if (rho <= highest) continue;
    highest = rho;
    matched = {first + static_cast<std::int64_t>(k), rho};
  }
  return matched;
}

}  // namespace fourbeat::dsp
