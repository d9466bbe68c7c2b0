// SPDX-License-Identifier: GPL-3.0-or-later
#include "weighting.h"

#include "fourbeat/dsp/fft.h"

namespace fourbeat::fit {

namespace {

constexpr std::size_t block_frames = 4096;

constexpr double squared(double value) {
  return value * value;
}

}  // namespace

double a_weight_power(double frequency_hz) {
  constexpr double plus_2_00_db = 1.5848931924611136;  // 10^0.2: what makes it 1 at 1 kHz
  constexpr double f4 = 12194.0 * 12194.0;
  const double f = frequency_hz * frequency_hz;
  const double below = (f + squared(20.6)) * (f + f4);
  return plus_2_00_db * squared(f4 * f * f / below) / ((f + squared(107.7)) * (f + squared(737.9)));
}

double a_weighted_energy(audio::MonoView samples, double sample_rate_hz,
                         const std::optional<dsp::SpeakerResponse>& speaker) {
  const dsp::RealFft fft(block_frames);
  // The square of a sine window is a Hann window, and those add up to one at half overlap.
  std::vector<float> window = dsp::hann_window(block_frames);
  for (float& gain : window)
    gain = std::sqrt(gain);
  constexpr double size = static_cast<double>(block_frames);
  std::vector<double> weights(block_frames / 2 + 1);
  for (std::size_t bin = 0; bin < weights.size(); ++bin) {
    // Every bin but the first and the last stands for two of the full spectrum (Parseval).
    const double sides = bin == 0 || bin + 1 == weights.size() ? 1.0 : 2.0;
    const double frequency_hz = static_cast<double>(bin) * sample_rate_hz / size;
    weights[bin] = sides / size * a_weight_power(frequency_hz);
    if (speaker) weights[bin] *= dsp::speaker_power(frequency_hz, sample_rate_hz, *speaker);
  }
  std::vector<float> block(block_frames);
  std::vector<std::complex<float>> bins(weights.size());
  const auto length = static_cast<std::int64_t>(samples.size());
  constexpr std::int64_t hop = block_frames / 2;
  double energy = 0.0;
  for (std::int64_t start = -hop; start < length; start += hop) {
    for (std::size_t i = 0; i < block_frames; ++i) {
      const std::int64_t frame = start + static_cast<std::int64_t>(i);
      const bool inside = frame >= 0 && frame < length;
      block[i] = inside ? samples[static_cast<std::size_t>(frame)] * window[i] : 0.0F;
    }
    fft.forward(block, bins);
    for (std::size_t bin = 0; bin < bins.size(); ++bin) {
      energy += weights[bin] * static_cast<double>(std::norm(bins[bin]));
    }
  }
  return energy;
}

}  // namespace fourbeat::fit
