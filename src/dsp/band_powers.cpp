// SPDX-License-Identifier: GPL-3.0-or-later
#include "band_powers.h"

#include <algorithm>
#include <cassert>
#include <cmath>

namespace fourbeat::dsp {

std::vector<Band> third_octaves_from_250_hz(double sample_rate_hz) {
  constexpr double step = 1.2589254117941673;       // 10^(1/10)
  constexpr double half_step = 1.1220184543019633;  // 10^(1/20)
  std::vector<Band> bands;
  for (double centre_hz = 251.18864315095803; centre_hz * half_step <= 0.45 * sample_rate_hz;
       centre_hz *= step)
    bands.push_back({centre_hz / half_step, centre_hz * half_step});
  return bands;
}

std::vector<Band> octaves_below_250_hz() {
  return {{31.25, 62.5}, {62.5, 125.0}, {125.0, 250.0}};
}

BandPowers::BandPowers(std::size_t frame_size, double sample_rate_hz, std::span<const Band> bands)
    : fft_(good_fft_size(frame_size)),
      window_(hann_window(frame_size)),
      padded_(fft_.size(), 0.0F),
      bins_(fft_.size() / 2 + 1) {
  double window_power = 0.0;
  for (const float w : window_)
    window_power += static_cast<double>(w) * w;
  const double scale = 2.0 / (static_cast<double>(fft_.size()) * window_power);
  const double bin_hz = sample_rate_hz / static_cast<double>(fft_.size());
  for (const Band& band : bands) {
    Weights weights;
    weights.first_bin = static_cast<std::size_t>(std::max(0.0, band.low_hz / bin_hz + 0.5));
    for (std::size_t bin = weights.first_bin; bin < bins_.size(); ++bin) {
      const double low = std::max(band.low_hz, (static_cast<double>(bin) - 0.5) * bin_hz);
      const double high = std::min(band.high_hz, (static_cast<double>(bin) + 0.5) * bin_hz);
      if (high <= low) break;
      weights.shares.push_back(static_cast<float>(scale * (high - low) / bin_hz));
    }
    weights_.push_back(std::move(weights));
  }
}

void BandPowers::measure(audio::MonoView frame, std::span<float> powers) {
  assert(frame.size() == window_.size() && powers.size() == weights_.size());
  for (std::size_t i = 0; i < frame.size(); ++i)
    padded_[i] = frame[i] * window_[i];
  fft_.forward(padded_, bins_);
  for (std::size_t band = 0; band < weights_.size(); ++band) {
    float power = 0.0F;
    std::size_t bin = weights_[band].first_bin;
    for (const float share : weights_[band].shares)
      power += share * std::norm(bins_[bin++]);
    powers[band] = power;
  }
}

}  // namespace fourbeat::dsp
