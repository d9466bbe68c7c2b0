// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <complex>
#include <cstddef>
#include <memory>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// A real FFT of one even size, both ways, over KissFFT. Not shared between threads. The calls
/// allocate nothing. The inverse is unscaled: inverse(forward(x)) = size × x.
class RealFft {
 public:
  /// size: even, at least 2; products of 2, 3 and 5 are fast (see good_fft_size).
  explicit RealFft(std::size_t size);
  ~RealFft();
  RealFft(RealFft&&) noexcept;
  RealFft& operator=(RealFft&&) noexcept;

  [[nodiscard]] std::size_t size() const { return size_; }
  /// in: size samples; out: size / 2 + 1 bins. They must not overlap.
  void forward(std::span<const float> in, std::span<std::complex<float>> out) const;
  /// in: size / 2 + 1 bins; out: size samples. They must not overlap.
  void inverse(std::span<const std::complex<float>> in, std::span<float> out) const;

 private:
  struct Plan;
  std::size_t size_ = 0;
  std::unique_ptr<Plan> plan_;
};

/// The least even product of 2, 3 and 5 that is at least `size`.
[[nodiscard]] std::size_t good_fft_size(std::size_t size);

/// Linear autocorrelation sums r[lag] = sum of x[i] × x[i + lag], lag = 0 … max_lag, by the
/// Wiener-Khinchin theorem: zero-padded, so nothing wraps round.
[[nodiscard]] std::vector<float> autocorrelation(std::span<const float> x, std::size_t max_lag);

/// Hann window of a size, periodic.
[[nodiscard]] std::vector<float> hann_window(std::size_t size);

}  // namespace fourbeat::dsp
