// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_line.h"

#include "plain_log.h"

#include "fourbeat/dsp/fft.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <span>

namespace fourbeat::dsp {

namespace {

/// Hops of 5 ms a window and from one window to the next; the spectrum is read twice as finely.
constexpr std::size_t window_hops = 256;
constexpr std::size_t fft_size = 2 * window_hops;
/// The beat rates looked for, on a grid of equal ratios.
constexpr double least_hz = 16.0;
constexpr double most_hz = 46.0;
constexpr double grid_ratio = 1.01;
/// A step of the grid from one window to the next is 2 beats/s² at 30 Hz: little is likely.
constexpr int most_steps = 3;
constexpr float step_cost = 1.5F;
/// Modulations slower than this are wind and passing by.
constexpr double slowest_hz = 1.5;
/// The line's power over the noise: what one window may bring at most, what it costs to be there
/// (of noise alone the strongest of some hundred bins has 4.6), and what a run costs.
constexpr float most_line = 30.0F;
constexpr float line_price = 12.0F;
constexpr float no_line = -8.0F;
constexpr float run_price = 144.0F;
/// The least modulation, amplitude in dB, and the share of the strongest slower line's power.
constexpr double least_depth_db = 0.5;
constexpr double share_of_slower = 0.7;

/// Spectrum of the level over one window.
struct LevelSpectrum {
  std::vector<float> power;  ///< one a bin of fft_size
  double noise = 0.0;        ///< mean power of a bin of noise
};

class Spectra {
 public:
  explicit Spectra(const OnsetStrength& onsets)
      : onsets_(onsets),
        fft_(fft_size),
        window_(hann_window(window_hops)),
        frame_(fft_size),
        bins_(fft_size / 2 + 1) {}

  [[nodiscard]] std::size_t count() const {
    const std::size_t hops = onsets_.level_db.size();
    return hops < window_hops ? 0 : 1 + (hops - window_hops) / line_step_hops;
  }
  [[nodiscard]] double bin_hz() const {
    return 1.0 / (static_cast<double>(fft_size) * onsets_.hop_s);
  }
  [[nodiscard]] double centre_hop(std::size_t window) const {
    return static_cast<double>(window * line_step_hops) + 0.5 * window_hops;
  }

  LevelSpectrum at(std::size_t window) {
    const std::span<const float> level =
        std::span(onsets_.level_db).subspan(window * line_step_hops, window_hops);
    double mean = 0.0;
    for (const float x : level)
      mean += static_cast<double>(x);
    mean /= window_hops;
    std::fill(frame_.begin(), frame_.end(), 0.0F);
    for (std::size_t i = 0; i < window_hops; ++i)
      frame_[i] = window_[i] * (level[i] - static_cast<float>(mean));
    fft_.forward(frame_, bins_);
    LevelSpectrum spectrum;
    spectrum.power.resize(bins_.size());
    for (std::size_t i = 0; i < bins_.size(); ++i)
      spectrum.power[i] = std::norm(bins_[i]);
    // The median of an exponential law is ln 2 of its mean.
    constexpr double noise_from_hz = 12.0;
    std::vector<float> high(
        spectrum.power.begin() + static_cast<std::ptrdiff_t>(noise_from_hz / bin_hz()),
        spectrum.power.end() - 1);
    const auto middle = high.begin() + static_cast<std::ptrdiff_t>(high.size() / 2);
    std::nth_element(high.begin(), middle, high.end());
    spectrum.noise = std::max(1e-9, static_cast<double>(*middle) / std::numbers::ln2);
    return spectrum;
  }

  /// Amplitude of a modulation whose line has this power, in dB.
  [[nodiscard]] static double depth_db(double power) {
    constexpr double window_sum = 0.5 * window_hops;
    return 2.0 * std::sqrt(power) / window_sum;
  }

 private:
  const OnsetStrength& onsets_;
  RealFft fft_;
  std::vector<float> window_;
  std::vector<float> frame_;
  std::vector<std::complex<float>> bins_;
};

double power_at(const LevelSpectrum& spectrum, double bin) {
  const auto low = static_cast<std::size_t>(bin);
  const double part = bin - static_cast<double>(low);
  return (1.0 - part) * static_cast<double>(spectrum.power[low]) +
         part * static_cast<double>(spectrum.power[low + 1]);
}

/// The peak of the spectrum nearest to a bin, by a parabola through the logarithms.
double peak_near(const LevelSpectrum& spectrum, double bin) {
  auto at = static_cast<std::size_t>(std::lround(bin));
  const auto& p = spectrum.power;
  for (int i = 0; i < 4 && at > 1 && at + 2 < p.size(); ++i) {
    if (p[at + 1] > p[at]) {
      ++at;
    } else if (p[at - 1] > p[at]) {
      --at;
    } else {
      break;
    }
  }
  const auto ln = [&](std::size_t i) {
    return plain_ln(std::max(1e-12, static_cast<double>(p[i])));
  };
  const double curve = ln(at - 1) - 2.0 * ln(at) + ln(at + 1);
  const double shift = curve < 0.0 ? 0.5 * (ln(at - 1) - ln(at + 1)) / curve : 0.0;
  return static_cast<double>(at) + std::clamp(shift, -0.5, 0.5);
}

/// Follows lines through the windows.
class LineSearch {
 public:
  LineSearch(const OnsetStrength& onsets, double greatest_rate_hz) : spectra_(onsets) {
    for (double hz = least_hz; hz <= std::min(most_hz, greatest_rate_hz); hz *= grid_ratio)
      rates_hz_.push_back(hz);
  }

  /// Runs of points of one line each, in order.
  Result<std::vector<std::vector<LinePoint>>> run(const JobControl& job) {
    const std::size_t windows = rates_hz_.empty() ? 0 : spectra_.count();
    const std::size_t rates = rates_hz_.size();
    std::vector<std::int8_t> from(windows * rates, off);
    std::vector<std::int32_t> off_from(windows, -1);
    std::vector<float> score(rates, never);
    std::vector<float> next(rates);
    float idle = 0.0F;
    for (std::size_t w = 0; w < windows; ++w) {
      if (w % 64 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
      const LevelSpectrum spectrum = spectra_.at(w);
      const std::vector<float> gains = gains_of(spectrum);
      float best = never;
      std::int32_t best_rate = -1;
      for (std::size_t r = 0; r < rates; ++r) {
        float top = idle - run_price;
        std::int8_t origin = off;
        for (int k = -most_steps; k <= most_steps; ++k) {
          const auto before = static_cast<std::int64_t>(r) + k;
          if (before < 0 || before >= static_cast<std::int64_t>(rates)) continue;
          const float reached =
              score[static_cast<std::size_t>(before)] - step_cost * static_cast<float>(std::abs(k));
          if (reached > top) {
            top = reached;
            origin = static_cast<std::int8_t>(k);
          }
        }
        from[w * rates + r] = origin;
        next[r] = top + gains[r];
        if (next[r] > best) {
          best = next[r];
          best_rate = static_cast<std::int32_t>(r);
        }
      }
      score.swap(next);
      if (best > idle) {
        idle = best;
        off_from[w] = best_rate;
      }
    }
    return trace(from, off_from);
  }

 private:
  static constexpr std::int8_t off = 100;
  static constexpr float never = -1e30F;

  std::vector<float> gains_of(const LevelSpectrum& spectrum) {
    const double bin_hz = spectra_.bin_hz();
    // The strongest power up to each bin, from the slowest that counts.
    std::vector<float> slower(spectrum.power.size(), 0.0F);
    const auto first = static_cast<std::size_t>(slowest_hz / bin_hz);
    for (std::size_t i = first; i < slower.size(); ++i)
      slower[i] = std::max(slower[i - 1], spectrum.power[i]);
    std::vector<float> gains;
    for (const double hz : rates_hz_) {
      const double power = power_at(spectrum, hz / bin_hz);
      const auto below = static_cast<std::size_t>(0.6 * hz / bin_hz);
      const bool strongest = power >= share_of_slower * static_cast<double>(slower[below]);
      const bool deep = Spectra::depth_db(power) >= least_depth_db;
      gains.push_back(
          strongest && deep
              ? std::max(no_line, std::min(most_line, static_cast<float>(power / spectrum.noise)) -
                                      line_price)
              : no_line);
    }
    return gains;
  }

  [[nodiscard]] std::vector<std::vector<LinePoint>> trace(
      const std::vector<std::int8_t>& from, const std::vector<std::int32_t>& off_from) {
    std::vector<std::vector<LinePoint>> runs;
    const std::size_t rates = rates_hz_.size();
    auto w = static_cast<std::int64_t>(off_from.size()) - 1;
    while (w >= 0) {
      std::int32_t rate = off_from[static_cast<std::size_t>(w)];
      if (rate < 0) {
        --w;
        continue;
      }
      std::vector<LinePoint> run;
      std::vector<std::size_t> windows;
      while (true) {
        const auto window = static_cast<std::size_t>(w);
        run.push_back(
            {spectra_.centre_hop(window), rates_hz_[static_cast<std::size_t>(rate)], 0.0});
        windows.push_back(window);
        const std::int8_t step = from[window * rates + static_cast<std::size_t>(rate)];
        --w;
        if (step == off) break;
        rate += step;
      }
      for (std::size_t i = 0; i < run.size(); ++i) {
        LinePoint& point = run[i];
        const LevelSpectrum spectrum = spectra_.at(windows[i]);
        const double bin = peak_near(spectrum, point.rate_hz / spectra_.bin_hz());
        point.rate_hz = bin * spectra_.bin_hz();
        point.line = power_at(spectrum, bin) / spectrum.noise;
      }
      std::reverse(run.begin(), run.end());
      runs.push_back(std::move(run));
    }
    std::reverse(runs.begin(), runs.end());
    return runs;
  }

  Spectra spectra_;
  std::vector<double> rates_hz_;
};

}  // namespace

Result<std::vector<std::vector<LinePoint>>> find_lines(const OnsetStrength& onsets,
                                                       double greatest_rate_hz,
                                                       const JobControl& job) {
  return LineSearch(onsets, greatest_rate_hz).run(job);
}

}  // namespace fourbeat::dsp
