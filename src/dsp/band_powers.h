// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/dsp/fft.h"

#include <complex>
#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

struct Band {
  double low_hz = 0.0;
  double high_hz = 0.0;
};

/// Third-octave bands of base ten (IEC 61260-1) from the one at 250 Hz up to the last whose upper
/// edge is at or below 0.45 × rate. Empty for rates under about 630 Hz.
[[nodiscard]] std::vector<Band> third_octaves_from_250_hz(double sample_rate_hz);

/// The octaves 31.25 to 62.5, to 125, to 250 Hz.
[[nodiscard]] std::vector<Band> octaves_below_250_hz();

/// Mean power in bands of one Hann-windowed frame. A bin counts in a band by the share of its
/// width that lies in it. Not shared between threads.
class BandPowers {
 public:
  BandPowers(std::size_t frame_size, double sample_rate_hz, std::span<const Band> bands);

  [[nodiscard]] std::size_t bands() const { return weights_.size(); }
  /// frame: frame_size samples; powers: one a band. Allocates nothing.
  void measure(audio::MonoView frame, std::span<float> powers);

 private:
  struct Weights {
    std::size_t first_bin = 0;
    std::vector<float> shares;
  };
  RealFft fft_;
  std::vector<float> window_;
  std::vector<float> padded_;
  std::vector<std::complex<float>> bins_;
  std::vector<Weights> weights_;
};

}  // namespace fourbeat::dsp
