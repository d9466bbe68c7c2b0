// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/onset.h"

#include "onset_noise.h"
#include "plain_log.h"

#include "fourbeat/dsp/fft.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <complex>
#include <cstdint>
#include <string>

namespace fourbeat::dsp {

namespace {

constexpr double hop_target_s = 0.005;
constexpr double window_s = 0.0106;
constexpr double lowest_hz = 80.0;
constexpr double highest_hz = 12000.0;
constexpr int bands_wanted = 24;
/// Nothing this far (60 dB) under the loudest band's mean power says anything.
constexpr double floor_ratio = 1e-6;
/// Half spans of the step, in hops: 10 to 80 ms.
constexpr std::array<int, onset_spans> spans = {2, 4, 8, 16};
/// Nor a band's.
constexpr double least_band_noise_db = 1.0;
/// The level's noise is not believed to be less.
constexpr double least_noise_db = 0.3;
constexpr std::int64_t block_frames = 1 << 14;

Error bad(ErrorCode code, std::string detail) {
  Error error;
  error.code = code;
  error.detail = std::move(detail);
  return error;
}

/// First bin of each band and, at the end, one past the last.
std::vector<std::size_t> band_edges(double sample_rate_hz, std::size_t fft_size) {
  const double bin_hz = sample_rate_hz / static_cast<double>(fft_size);
  const double top_hz = std::min(highest_hz, 0.45 * sample_rate_hz);
  std::vector<std::size_t> edges;
  for (int i = 0; i <= bands_wanted; ++i) {
    const double hz =
        lowest_hz * std::pow(top_hz / lowest_hz, static_cast<double>(i) / bands_wanted);
    const auto bin = std::max<std::size_t>(1, static_cast<std::size_t>(std::lround(hz / bin_hz)));
    if (edges.empty() || bin > edges.back()) edges.push_back(bin);
  }
  return edges;
}

/// Levels of the bands over time; a band is one row.
struct BandLevels {
  std::size_t bands = 0;
  std::size_t hops = 0;
  std::vector<float> values;  ///< [band × hops + hop]

  [[nodiscard]] std::span<float> row(std::size_t band) {
    return std::span(values).subspan(band * hops, hops);
  }
};

/// Largest magnitude; refuses what is not finite. Magnitudes are compared as the integers that
/// their bits are, which are in the same order; infinity and NaN are the greatest.
Result<float> peak_of(SampleSource& samples, JobControl& job) {
  constexpr std::uint32_t magnitude_bits = 0x7FFFFFFFU;
  constexpr std::uint32_t infinity_bits = 0x7F800000U;
  constexpr std::size_t lanes = 8;
  const auto magnitude_of = [](float sample) {
    return std::bit_cast<std::uint32_t>(sample) & magnitude_bits;
  };
  const std::int64_t frames = samples.frames().value();
  std::array<std::uint32_t, lanes> peaks{};
  for (std::int64_t from = 0; from < frames; from += block_frames) {
    if (job.cancelled()) return bad(ErrorCode::cancelled, "");
    job.progress(static_cast<double>(from) / static_cast<double>(frames), "reading");
    const Result<audio::MonoView> block =
        samples.read(frame_range(from, std::min(frames, from + block_frames)));
    if (!block) return block.error();
    std::size_t i = 0;
    for (; i + lanes <= block->size(); i += lanes)
      for (std::size_t lane = 0; lane < lanes; ++lane)
        peaks[lane] = std::max(peaks[lane], magnitude_of((*block)[i + lane]));
    for (; i < block->size(); ++i)
      peaks[0] = std::max(peaks[0], magnitude_of((*block)[i]));
    if (*std::max_element(peaks.begin(), peaks.end()) < infinity_bits) continue;
    for (i = 0; magnitude_of((*block)[i]) < infinity_bits; ++i) {
    }
    Error error = bad(ErrorCode::not_finite, "");
    error.place = fmt::format("frame {}", from + static_cast<std::int64_t>(i));
    return error;
  }
  return std::bit_cast<float>(*std::max_element(peaks.begin(), peaks.end()));
}

/// Mean power in each band of each window, the samples scaled by `scale`.
Result<BandLevels> band_powers(SampleSource& samples, double sample_rate_hz, std::size_t hop,
                               std::size_t size, float scale, JobControl& job) {
  const RealFft fft(size);
  std::vector<float> window = hann_window(size);
  for (float& value : window)
    value *= scale;
  const std::vector<std::size_t> edges = band_edges(sample_rate_hz, size);
  BandLevels levels;
  levels.bands = edges.size() - 1;
  levels.hops = 1 + (static_cast<std::size_t>(samples.frames().value()) - size) / hop;
  levels.values.resize(levels.bands * levels.hops);
  std::vector<float> frame(size);
  std::vector<std::complex<float>> bins(size / 2 + 1);
  std::vector<float> power(size / 2 + 1);
  const std::size_t hops_per_block = (block_frames - size) / hop;
  audio::MonoView block;
  for (std::size_t at = 0; at < levels.hops; ++at) {
    if (at % hops_per_block == 0) {
      if (job.cancelled()) return bad(ErrorCode::cancelled, "");
      job.progress(static_cast<double>(at) / static_cast<double>(levels.hops), "onsets");
      const std::size_t last = std::min(levels.hops, at + hops_per_block) - 1;
      const Result<audio::MonoView> read = samples.read(frame_range(
          static_cast<std::int64_t>(at * hop), static_cast<std::int64_t>(last * hop + size)));
      if (!read) return read.error();
      block = *read;
    }
    const float* in = block.data() + at % hops_per_block * hop;
    for (std::size_t i = 0; i < size; ++i)
      frame[i] = in[i] * window[i];
    fft.forward(frame, bins);
    for (std::size_t bin = edges.front(); bin < edges.back(); ++bin)
      power[bin] = bins[bin].real() * bins[bin].real() + bins[bin].imag() * bins[bin].imag();
    for (std::size_t band = 0; band < levels.bands; ++band) {
      // Two sums at a time: neither waits for the other.
      float even = 0.0F;
      float odd = 0.0F;
      std::size_t bin = edges[band];
      for (; bin + 1 < edges[band + 1]; bin += 2) {
        even += power[bin];
        odd += power[bin + 1];
      }
      if (bin < edges[band + 1]) even += power[bin];
      levels.values[band * levels.hops + at] =
          (even + odd) / static_cast<float>(edges[band + 1] - edges[band]);
    }
  }
  return levels;
}

/// Holds the powers from before through gaps of digital nothing of up to a second: a dropout is no
/// onset at its end. What a gap ends with stands against what was before it, so that beats out of a
/// noise gate keep their attack.
void hold_through_gaps(BandLevels& levels) {
  constexpr double nothing = 1e-10;  // of the mean power
  constexpr std::size_t longest_hops = 200;
  constexpr std::size_t edge_hops = 2;  // windows that reach into the gap
  std::vector<float> sums(levels.hops, 0.0F);
  for (std::size_t band = 0; band < levels.bands; ++band) {
    const std::span<const float> row = levels.row(band);
    for (std::size_t i = 0; i < row.size(); ++i)
      sums[i] += row[i];
  }
  double mean = 0.0;
  for (const float sum : sums)
    mean += static_cast<double>(sum) / static_cast<double>(levels.hops);
  const auto least = static_cast<float>(nothing * mean);
  for (std::size_t at = 0; at < sums.size(); ++at) {
    if (sums[at] > least) continue;
    std::size_t end = at;
    while (end < sums.size() && sums[end] <= least)
      ++end;
    if (at > edge_hops && end < sums.size() && end - at <= longest_hops) {
      const std::size_t from = at - edge_hops;
      const std::size_t to = std::min(sums.size(), end + edge_hops);
      for (std::size_t band = 0; band < levels.bands; ++band) {
        const std::span<float> row = levels.row(band);
        std::fill(row.begin() + static_cast<std::ptrdiff_t>(from),
                  row.begin() + static_cast<std::ptrdiff_t>(to), row[from - 1]);
      }
    }
    at = end;
  }
}

/// Powers to dB over a floor common to all bands.
Status to_db(BandLevels& levels, const JobControl& job) {
  double loudest = 0.0;
  for (std::size_t band = 0; band < levels.bands; ++band) {
    double sum = 0.0;
    for (const float value : levels.row(band))
      sum += value;
    loudest = std::max(loudest, sum / static_cast<double>(levels.hops));
  }
  const double floor = std::max(loudest * floor_ratio, 1e-30);
  for (std::size_t band = 0; band < levels.bands; ++band) {
    if (job.cancelled()) return bad(ErrorCode::cancelled, "");
    for (float& value : levels.row(band))
      value = static_cast<float>(plain_db(static_cast<double>(value) + floor));
  }
  return ok();
}

/// Mean level after each hop's start less the mean before it, `span` hops each.
void step_of(std::span<const double> sums, std::size_t hops, int span, std::span<float> out) {
  const auto width = static_cast<std::size_t>(span);
  std::fill(out.begin(), out.end(), 0.0F);
  for (std::size_t at = width; at + width <= hops; ++at) {
    const double after = sums[at + width] - sums[at];
    const double before = sums[at] - sums[at - width];
    out[at] = static_cast<float>((after - before) / span);
  }
}

/// Steps over 20 ms of each band in standard deviations of its noise, held to `most_steps`, at
/// every other hop.
struct BandSteps {
  std::size_t count = 0;
  std::vector<double> noise_db;  ///< one a band
  std::vector<float> values;     ///< [band × count + i]
};

Result<BandSteps> steps_of(BandLevels& levels, const JobControl& job) {
  constexpr int span = 4;
  constexpr float most_steps = 12.0F;
  BandSteps steps;
  steps.count = levels.hops / 2;
  steps.values.resize(levels.bands * steps.count);
  std::vector<float> step(levels.hops);
  for (std::size_t band = 0; band < levels.bands; ++band) {
    if (job.cancelled()) return bad(ErrorCode::cancelled, "");
    const std::span<const float> row = levels.row(band);
    steps.noise_db.push_back(std::max(noise_of(row), least_band_noise_db));
    step_of(running_sums(row), levels.hops, span, step);
    const auto scale = static_cast<float>(1.0 / steps.noise_db.back());
    for (std::size_t i = 0; i < steps.count; ++i)
      steps.values[band * steps.count + i] =
          std::clamp(step[2 * i] * scale, -most_steps, most_steps);
  }
  return steps;
}

/// Weights of the bands: those of the first principal component of their steps (power iteration),
/// so that bands which rise together count, and one that goes its own way (wind, a pump) does
/// not; over the noise, as in a matched filter. They sum to 1.
Result<std::vector<double>> weights_of(const BandSteps& steps, const JobControl& job) {
  constexpr int rounds = 4;
  const std::size_t bands = steps.noise_db.size();
  std::vector<double> component(bands, 1.0);
  std::vector<float> common(steps.count);
  for (int round = 0; round < rounds; ++round) {
    if (job.cancelled()) return bad(ErrorCode::cancelled, "");
    std::fill(common.begin(), common.end(), 0.0F);
    for (std::size_t band = 0; band < bands; ++band) {
      const auto weight = static_cast<float>(component[band]);
      const float* row = steps.values.data() + band * steps.count;
      for (std::size_t i = 0; i < steps.count; ++i)
        common[i] += weight * row[i];
    }
    double total = 0.0;
    for (std::size_t band = 0; band < bands; ++band) {
      const float* row = steps.values.data() + band * steps.count;
      double own = 0.0;
      double shared = 0.0;
      for (std::size_t i = 0; i < steps.count; ++i) {
        shared += static_cast<double>(row[i]) * static_cast<double>(common[i]);
        own += static_cast<double>(row[i]) * static_cast<double>(row[i]);
      }
      // Without its own share, so that agreement alone counts.
      const double agreement = shared - component[band] * own;
      component[band] = std::max(0.0, agreement);
      total += component[band];
    }
    if (!(total > 0.0)) {
      component.assign(bands, 1.0 / static_cast<double>(bands));
      break;
    }
    for (double& weight : component)
      weight /= total;
  }
  double total = 0.0;
  for (std::size_t band = 0; band < bands; ++band) {
    component[band] /= steps.noise_db[band];
    total += component[band];
  }
  for (double& weight : component)
    weight /= total;
  return component;
}

/// The bands' weighted mean level.
Result<std::vector<float>> mean_level(BandLevels& levels, const JobControl& job) {
  const Result<BandSteps> steps = steps_of(levels, job);
  if (!steps) return steps.error();
  const Result<std::vector<double>> weights = weights_of(*steps, job);
  if (!weights) return weights.error();
  std::vector<float> mean(levels.hops, 0.0F);
  for (std::size_t band = 0; band < levels.bands; ++band) {
    const auto weight = static_cast<float>((*weights)[band]);
    const std::span<const float> row = levels.row(band);
    for (std::size_t at = 0; at < levels.hops; ++at)
      mean[at] += weight * row[at];
  }
  return mean;
}

/// The likelihood ratio of a step, over the spans.
std::vector<float> step_strength(std::span<const double> sums,
                                 const std::array<double, spans.size()>& noise_db) {
  std::vector<float> step(sums.size() - 1);
  std::vector<float> strength(step.size(), 0.0F);
  for (std::size_t i = 0; i < spans.size(); ++i) {
    step_of(sums, step.size(), spans[i], step);
    const auto scale = static_cast<float>(1.0 / noise_db[i]);
    for (std::size_t at = 0; at < step.size(); ++at)
      strength[at] = std::max(strength[at], scale * step[at]);
  }
  return strength;
}

}  // namespace

Result<OnsetStrength> onset_strength(SampleSource& samples, double sample_rate_hz,
                                     JobControl& job) {
  if (!(sample_rate_hz >= 8000.0 && sample_rate_hz <= 192000.0))
    return bad(ErrorCode::bad_argument, "the sample rate must be 8000 to 192000 Hz");
  const Result<float> peak = peak_of(samples, job);
  if (!peak) return peak.error();
  const auto hop = static_cast<std::size_t>(std::lround(sample_rate_hz * hop_target_s));
  const std::size_t size = good_fft_size(static_cast<std::size_t>(sample_rate_hz * window_s));
  OnsetStrength onsets;
  onsets.hop_s = static_cast<double>(hop) / sample_rate_hz;
  // A step between two hops lies midway between the centres of their windows.
  onsets.first_s = (static_cast<double>(size) - static_cast<double>(hop)) / 2.0 / sample_rate_hz;
  constexpr float silence = 1e-30F;
  const auto least = static_cast<std::int64_t>(size + 20 * hop);
  if (samples.frames().value() < least || *peak < silence) return onsets;
  Result<BandLevels> levels = band_powers(samples, sample_rate_hz, hop, size, 1.0F / *peak, job);
  if (!levels) return levels.error();
  hold_through_gaps(*levels);
  if (const Status status = to_db(*levels, job); !status) return status.error();
  Result<std::vector<float>> level = mean_level(*levels, job);
  if (!level) return level.error();
  onsets.level_db = *std::move(level);
  const std::vector<double> sums = running_sums(onsets.level_db);
  const LevelNoise noise = level_noise(sums, std::max(noise_of(onsets.level_db), least_noise_db));
  for (std::size_t i = 0; i < spans.size(); ++i)
    onsets.step_noise_db[i] = noise.of_step_db(spans[i]);
  onsets.strength = step_strength(sums, onsets.step_noise_db);
  return onsets;
}

float OnsetStrength::strength_within(std::size_t index, std::size_t reach) const {
  double best = 0.0;
  double before = 0.0;
  double after = 0.0;
  std::size_t width = 0;
  for (std::size_t i = 0; i < spans.size(); ++i) {
    const auto wanted = static_cast<std::size_t>(spans[i]);
    if (wanted > reach || wanted > index || index + wanted > level_db.size()) break;
    for (; width < wanted; ++width) {
      after += static_cast<double>(level_db[index + width]);
      before += static_cast<double>(level_db[index - 1 - width]);
    }
    best = std::max(best, (after - before) / spans[i] / step_noise_db[i]);
  }
  return static_cast<float>(best);
}

}  // namespace fourbeat::dsp
