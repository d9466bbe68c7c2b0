// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_fused.h"

#include "beat_line.h"
#include "plain_log.h"

#include "fourbeat/dsp/fft.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <cstddef>
#include <cstdint>
#include <numbers>
#include <optional>
#include <span>

namespace fourbeat::dsp {

namespace {

constexpr double two_pi = 2.0 * std::numbers::pi;
/// Hops of a line's window before its first centre and after its last.
constexpr std::size_t end_hops = 128;

/// Phase of the beats over a run's hops, in turns, rising by 1 from beat to beat.
struct Phase {
  std::size_t first_hop = 0;
  std::vector<double> turns;
  std::vector<double> line;  ///< one a hop, see FusedBeat
};

/// The phase of the rate's line: the rate's integral, set right by what a demodulation with it
/// leaves over windows of 0.64 s.
Phase phase_of(const OnsetStrength& onsets, std::span<const LinePoint> run) {
  Phase phase;
  const auto from = static_cast<std::size_t>(run.front().centre_hop) - end_hops;
  const auto to =
      std::min(static_cast<std::size_t>(run.back().centre_hop) + end_hops, onsets.level_db.size());
  phase.first_hop = from;
  const auto point_at = [&](double hop, auto member) {
    const double at = std::clamp((hop - run.front().centre_hop) / line_step_hops, 0.0,
                                 static_cast<double>(run.size() - 1));
    const auto low = std::min(static_cast<std::size_t>(at), run.size() - 1);
    const std::size_t high = std::min(low + 1, run.size() - 1);
    const double part = at - static_cast<double>(low);
    return (1.0 - part) * run[low].*member + part * run[high].*member;
  };
  double turns = 0.0;
  for (std::size_t hop = from; hop < to; ++hop) {
    phase.turns.push_back(turns);
    turns += onsets.hop_s * point_at(static_cast<double>(hop) + 0.5, &LinePoint::rate_hz);
    phase.line.push_back(point_at(static_cast<double>(hop), &LinePoint::line));
  }
  // What the demodulation leaves, every step, unwrapped.
  constexpr std::size_t half = 64;
  const std::vector<float> window = hann_window(2 * half);
  std::vector<double> left;
  for (std::size_t centre = half; centre + half <= phase.turns.size(); centre += line_step_hops) {
    std::complex<double> sum = 0.0;
    double mean = 0.0;
    for (std::size_t i = 0; i < 2 * half; ++i)
      mean += static_cast<double>(onsets.level_db[from + centre - half + i]);
    mean /= 2.0 * half;
    for (std::size_t i = 0; i < 2 * half; ++i) {
      const std::size_t hop = centre - half + i;
      const double x = static_cast<double>(window[i]) *
                       (static_cast<double>(onsets.level_db[from + hop]) - mean);
      const double angle = two_pi * phase.turns[hop];
      sum += x * std::complex<double>(std::cos(angle), -std::sin(angle));
    }
    double now = std::arg(sum) / two_pi;
    if (!left.empty()) now += std::round(left.back() - now);
    left.push_back(now);
  }
  for (std::size_t i = 0; i < phase.turns.size() && !left.empty(); ++i) {
    const double at =
        std::clamp((static_cast<double>(i) - static_cast<double>(half)) / line_step_hops, 0.0,
                   static_cast<double>(left.size() - 1));
    const auto low = static_cast<std::size_t>(at);
    const std::size_t high = std::min(low + 1, left.size() - 1);
    const double part = at - static_cast<double>(low);
    phase.turns[i] += (1.0 - part) * left[low] + part * left[high];
  }
  return phase;
}

/// Finds where in the phase the attack lies, block by block.
class Fold {
 public:
  Fold(const OnsetStrength& onsets, SampleSource& samples, double sample_rate_hz)
      : onsets_(onsets), samples_(samples), sample_rate_hz_(sample_rate_hz) {}

  /// Place of the attack, 0 to 1 turns, over the hops [from, to) of the phase: of the power folded
  /// by phase and smoothed over 5 ms, midway in dB between its least and its greatest.
  Result<std::optional<double>> attack(const Phase& phase, std::size_t from, std::size_t to) {
    if (const Status done = fold(phase, from, to); !done) return done.error();
    const double seconds = static_cast<double>(to - from) * onsets_.hop_s;
    const double rate_hz = (phase.turns[to - 1] - phase.turns[from]) / seconds;
    const std::array<double, bins> level = smoothed(rate_hz);
    const auto peak =
        static_cast<std::size_t>(std::max_element(level.begin(), level.end()) - level.begin());
    const double least = *std::min_element(level.begin(), level.end());
    std::optional<double> place;
    if (level[peak] - least < 0.05) return place;
    const double middle = 0.5 * (level[peak] + least);
    for (std::size_t back = 1; back < bins; ++back) {
      const std::size_t at = (peak + bins - back) % bins;
      if (level[at] >= middle) continue;
      const double above = level[(at + 1) % bins];
      const double part = (middle - level[at]) / (above - level[at]);
      place = (static_cast<double>(at) + 0.5 + part) / bins;
      break;
    }
    return place;
  }

 private:
  static constexpr std::size_t bins = 48;

  Status fold(const Phase& phase, std::size_t from, std::size_t to) {
    sums_.fill(0.0);
    counts_.fill(0.0);
    const auto frame_at = [&](std::size_t hop) {
      return std::clamp<std::int64_t>(
          std::llround(onsets_.time_s(static_cast<double>(phase.first_hop + hop)) *
                       sample_rate_hz_),
          1, samples_.frames().value());
    };
    const std::int64_t start = frame_at(from);
    const Result<audio::MonoView> block = samples_.read(frame_range(start, frame_at(to - 1)));
    if (!block) return block.error();
    // A plain high-pass keeps rumble out.
    constexpr double corner_hz = 150.0;
    const double pole = std::exp(-two_pi * corner_hz / sample_rate_hz_);
    double low = 0.0;
    for (std::size_t hop = from; hop + 1 < to; ++hop) {
      const std::int64_t first = frame_at(hop);
      const std::int64_t last = frame_at(hop + 1);
      const double slope = (phase.turns[hop + 1] - phase.turns[hop]) /
                           static_cast<double>(std::max<std::int64_t>(1, last - first));
      for (std::int64_t i = first; i < last; ++i) {
        const double x = static_cast<double>((*block)[static_cast<std::size_t>(i - start)]);
        low = pole * low + (1.0 - pole) * x;
        const double turns = phase.turns[hop] + slope * static_cast<double>(i - first);
        const auto bin =
            std::min(bins - 1, static_cast<std::size_t>((turns - std::floor(turns)) * bins));
        sums_[bin] += (x - low) * (x - low);
        counts_[bin] += 1.0;
      }
    }
    return ok();
  }

  [[nodiscard]] std::array<double, bins> smoothed(double rate_hz) const {
    constexpr double envelope_s = 0.005;
    const auto half = static_cast<std::size_t>(std::lround(0.5 * envelope_s * rate_hz * bins));
    std::array<double, bins> level{};
    for (std::size_t b = 0; b < bins; ++b) {
      double sum = 0.0;
      double count = 0.0;
      for (std::size_t i = 0; i <= 2 * half; ++i) {
        const std::size_t at = (b + bins + i - half) % bins;
        sum += sums_[at];
        count += counts_[at];
      }
      level[b] = plain_db(std::max(1e-30, count > 0.0 ? sum / count : 0.0));
    }
    return level;
  }

  const OnsetStrength& onsets_;
  SampleSource& samples_;
  double sample_rate_hz_;
  std::array<double, bins> sums_{};
  std::array<double, bins> counts_{};
};

/// Cuts off the ends that do not beat: those where the modulation over 160 ms, in step with the
/// phase, falls short of a share of its median.
void trim(const OnsetStrength& onsets, Phase& phase) {
  constexpr std::size_t part_hops = 32;
  constexpr double least_share = 0.35;
  std::vector<double> depths;
  for (std::size_t part = 0; (part + 1) * part_hops <= phase.turns.size(); ++part) {
    std::complex<double> sum = 0.0;
    std::complex<double> still = 0.0;
    double mean = 0.0;
    for (std::size_t hop = part * part_hops; hop < (part + 1) * part_hops; ++hop) {
      const double angle = two_pi * phase.turns[hop];
      const std::complex<double> turn(std::cos(angle), -std::sin(angle));
      const auto level = static_cast<double>(onsets.level_db[phase.first_hop + hop]);
      sum += level * turn;
      still += turn;
      mean += level / part_hops;
    }
    // The mean level is no modulation.
    depths.push_back(std::max(0.0, (sum - mean * still).real()));
  }
  std::vector<double> sorted = depths;
  const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
  std::nth_element(sorted.begin(), middle, sorted.end());
  const double least = least_share * *middle;
  std::size_t first = 0;
  std::size_t last = depths.size();
  // Only where the run has no point of its own may it be cut.
  while (first < end_hops / part_hops && depths[end_hops / part_hops - 1 - first] >= least)
    ++first;
  first = end_hops / part_hops - first;
  std::size_t kept = last - end_hops / part_hops;
  while (kept < last && depths[kept] >= least)
    ++kept;
  last = kept == depths.size() ? phase.turns.size() : kept * part_hops;
  first *= part_hops;
  const auto cut = [&](std::vector<double>& values) {
    values.erase(values.begin() + static_cast<std::ptrdiff_t>(last), values.end());
    values.erase(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(first));
  };
  cut(phase.turns);
  cut(phase.line);
  phase.first_hop += first;
}

Result<FusedStretch> beats_of(const OnsetStrength& onsets, const Phase& phase, Fold& fold) {
  constexpr std::size_t block_hops = 400;  // 2 s: 30 beats and more
  const std::size_t hops = phase.turns.size();
  const std::size_t blocks = std::max<std::size_t>(1, hops / block_hops);
  FusedStretch stretch;
  double place = 0.0;
  bool known = false;
  for (std::size_t block = 0; block < blocks; ++block) {
    const std::size_t from = block * hops / blocks;
    const std::size_t to = (block + 1) * hops / blocks;
    const Result<std::optional<double>> attack = fold.attack(phase, from, to);
    if (!attack) return attack.error();
    if (const std::optional<double> found = *attack) {
      place = known ? *found + std::round(place - *found) : *found;
      known = true;
    }
    for (std::size_t hop = from; hop < to && hop + 1 < hops; ++hop) {
      const double before = phase.turns[hop] - place;
      const double after = phase.turns[hop + 1] - place;
      if (std::floor(after) <= std::floor(before)) continue;
      const double part = (std::floor(after) - before) / (after - before);
      const double time_s = onsets.time_s(static_cast<double>(phase.first_hop + hop) + part);
      // Where two blocks meet, a beat may come twice.
      const double least_s = 0.5 * onsets.hop_s / (after - before);
      if (!stretch.beats.empty() && time_s < stretch.beats.back().time_s + least_s) continue;
      stretch.beats.push_back({time_s, phase.line[hop]});
    }
  }
  return stretch;
}

}  // namespace

Result<std::vector<FusedStretch>> find_fused(const OnsetStrength& onsets, SampleSource& samples,
                                             double sample_rate_hz, double greatest_rate_hz,
                                             const JobControl& job) {
  const Result<std::vector<std::vector<LinePoint>>> runs =
      find_lines(onsets, greatest_rate_hz, job);
  if (!runs) return runs.error();
  std::vector<FusedStretch> stretches;
  Fold fold(onsets, samples, sample_rate_hz);
  for (const std::vector<LinePoint>& run : *runs) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    Phase phase = phase_of(onsets, run);
    trim(onsets, phase);
    Result<FusedStretch> stretch = beats_of(onsets, phase, fold);
    if (!stretch) return stretch.error();
    if (stretch->beats.size() > 1) stretches.push_back(*std::move(stretch));
  }
  return stretches;
}

}  // namespace fourbeat::dsp
