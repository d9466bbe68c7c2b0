// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/fft.h"

#include <kiss_fftr.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

namespace fourbeat::dsp {

static_assert(sizeof(kiss_fft_scalar) == sizeof(float), "the float build of KissFFT is needed");
static_assert(sizeof(kiss_fft_cpx) == sizeof(std::complex<float>));

struct RealFft::Plan {
  kiss_fftr_cfg forward = nullptr;
  kiss_fftr_cfg inverse = nullptr;
  explicit Plan(std::size_t size)
      : forward(kiss_fftr_alloc(static_cast<int>(size), 0, nullptr, nullptr)),
        inverse(kiss_fftr_alloc(static_cast<int>(size), 1, nullptr, nullptr)) {}
  ~Plan() {
    kiss_fftr_free(forward);
    kiss_fftr_free(inverse);
  }
  Plan(const Plan&) = delete;
  Plan& operator=(const Plan&) = delete;
};

RealFft::RealFft(std::size_t size) : size_(size), plan_(std::make_unique<Plan>(size)) {
  assert(size >= 2 && size % 2 == 0);
}
RealFft::~RealFft() = default;
RealFft::RealFft(RealFft&&) noexcept = default;
RealFft& RealFft::operator=(RealFft&&) noexcept = default;

void RealFft::forward(std::span<const float> in, std::span<std::complex<float>> out) const {
  assert(in.size() == size_ && out.size() == size_ / 2 + 1);
  // std::complex<float> has the layout of two floats (C++ [complex.numbers]), as kiss_fft_cpx.
  kiss_fftr(plan_->forward, in.data(), reinterpret_cast<kiss_fft_cpx*>(out.data()));
}

void RealFft::inverse(std::span<const std::complex<float>> in, std::span<float> out) const {
  assert(in.size() == size_ / 2 + 1 && out.size() == size_);
  kiss_fftri(plan_->inverse, reinterpret_cast<const kiss_fft_cpx*>(in.data()), out.data());
}

std::size_t good_fft_size(std::size_t size) {
  if (size < 2) return 2;
  // kiss_fftr works on half the size, so half of it is made a product of 2, 3 and 5.
  return 2 * static_cast<std::size_t>(kiss_fft_next_fast_size(static_cast<int>((size + 1) / 2)));
}

std::vector<float> autocorrelation(std::span<const float> x, std::size_t max_lag) {
  if (x.empty()) return std::vector<float>(max_lag + 1, 0.0F);
  const RealFft fft(good_fft_size(x.size() + max_lag + 1));
  std::vector<float> padded(fft.size(), 0.0F);
  std::copy(x.begin(), x.end(), padded.begin());
  std::vector<std::complex<float>> bins(fft.size() / 2 + 1);
  fft.forward(padded, bins);
  for (std::complex<float>& bin : bins)
    bin = std::norm(bin);
  fft.inverse(bins, padded);
  padded.resize(max_lag + 1);
  const float scale = 1.0F / static_cast<float>(fft.size());
  for (float& sum : padded)
    sum *= scale;
  return padded;
}

std::vector<float> hann_window(std::size_t size) {
  std::vector<float> window(size);
  for (std::size_t i = 0; i < size; ++i) {
    const double phase =
        2.0 * std::numbers::pi * static_cast<double>(i) / static_cast<double>(size);
    window[i] = static_cast<float>(0.5 - 0.5 * std::cos(phase));
  }
  return window;
}

}  // namespace fourbeat::dsp
