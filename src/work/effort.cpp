// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/effort.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>

namespace fourbeat::work {

namespace {

constexpr std::size_t groups = 3;
constexpr double explained_least = 0.9;
constexpr double group_least = 0.05;
constexpr std::size_t beats_least = 60;
/// Loudness and length are sorted into this many bins before they are grouped.
constexpr std::size_t bins = 128;

/// -0.5 at `low`, +0.5 at `high`, within ±1.
double speaks(double value, double low, double high) {
  return std::clamp((value - 0.5 * (low + high)) / (high - low), -1.0, 1.0);
}

/// Mean of what a beat's measures say, and how much they weigh together.
struct Opinion {
  double sum = 0.0;
  double weight = 0.0;
};

Opinion opinion_of(const EffortSign& beat, const model::EffortCalibration& c) {
  Opinion opinion;
  if (beat.sound && c.drifting_below_db && c.hard_from_db) {
    opinion.sum += speaks(beat.sound->over_background_db, *c.drifting_below_db, *c.hard_from_db);
    opinion.weight += 1.0;
  }
  if (beat.sound && c.drifting_below_share && c.hard_from_share) {
    opinion.sum += speaks(beat.sound->length_share, *c.drifting_below_share, *c.hard_from_share);
    opinion.weight += 1.0;
  }
  if (beat.acceleration_m_s2) {
    const double apart = c.hard_from_m_s2 - c.drifting_below_m_s2;
    const double unsure = beat.acceleration_sd_m_s2.value_or(0.0) / apart;
    const double weight = 1.0 / (1.0 + unsure * unsure);
    opinion.sum +=
        weight * speaks(*beat.acceleration_m_s2, c.drifting_below_m_s2, c.hard_from_m_s2);
    opinion.weight += weight;
  }
  return opinion;
}

struct Breaks {
  double low = 0.0;
  double high = 0.0;
};

/// Sums over bins [from, to), from cumulative ones.
struct Heap {
  std::vector<double> count{0.0}, sum{0.0}, squares{0.0};

  /// Squares about the mean.
  [[nodiscard]] double spread(std::size_t from, std::size_t to) const {
    const double n = count[to] - count[from];
    if (!(n > 0.0)) return 0.0;
    const double s = sum[to] - sum[from];
    return squares[to] - squares[from] - s * s / n;
  }
  [[nodiscard]] double number(std::size_t from, std::size_t to) const {
    return count[to] - count[from];
  }
  [[nodiscard]] double mean(std::size_t from, std::size_t to) const {
    return (sum[to] - sum[from]) / number(from, to);
  }
};

/// The two values between three groups, where there are three.
std::optional<Breaks> natural_breaks(std::vector<double> values) {
  if (values.size() < beats_least) return std::nullopt;
  const auto [least, most] = std::minmax_element(values.begin(), values.end());
  const double low = *least;
  const double width = (*most - low) / static_cast<double>(bins);
  if (!(width > 0.0)) return std::nullopt;
  std::array<double, bins> counts{};
  for (const double value : values) {
    const auto bin = static_cast<std::size_t>((value - low) / width);
    counts.at(std::min(bin, bins - 1)) += 1.0;
  }
  Heap heap;
  for (std::size_t i = 0; i < bins; ++i) {
    const double at = low + width * (static_cast<double>(i) + 0.5);
    heap.count.push_back(heap.count.back() + counts.at(i));
    heap.sum.push_back(heap.sum.back() + counts.at(i) * at);
    heap.squares.push_back(heap.squares.back() + counts.at(i) * at * at);
  }
  const double enough = group_least * heap.number(0, bins);
  double best = std::numeric_limits<double>::max();
  std::array<std::size_t, groups - 1> cuts{};
  for (std::size_t a = 1; a + 1 < bins; ++a) {
    if (heap.number(0, a) < enough) continue;
    for (std::size_t b = a + 1; b < bins; ++b) {
      if (heap.number(a, b) < enough || heap.number(b, bins) < enough) continue;
      const double inside = heap.spread(0, a) + heap.spread(a, b) + heap.spread(b, bins);
      if (inside >= best) continue;
      best = inside;
      cuts = {a, b};
    }
  }
  if (!(best <= (1.0 - explained_least) * heap.spread(0, bins))) return std::nullopt;
  const double soft = heap.mean(0, cuts[0]);
  const double middle = heap.mean(cuts[0], cuts[1]);
  const double loud = heap.mean(cuts[1], bins);
  return Breaks{0.5 * (soft + middle), 0.5 * (middle + loud)};
}

double rounded(double value, double step) {
  return std::round(value / step) * step;
}

}  // namespace

std::vector<model::Effort> judge_efforts(std::span<const EffortSign> beats, int beats_per_rev,
                                         const model::EffortCalibration& calibration,
                                         std::span<const model::Mark> hand_set) {
  std::vector<Opinion> opinions;
  opinions.reserve(beats.size());
  for (const EffortSign& beat : beats)
    opinions.push_back(opinion_of(beat, calibration));
  const auto half = static_cast<std::size_t>(std::max(1, beats_per_rev / 2));
  std::vector<model::Effort> efforts;
  for (std::size_t i = 0; i < beats.size(); ++i) {
    Opinion mean;
    for (std::size_t k = i > half ? i - half : 0; k < std::min(beats.size(), i + half + 1); ++k) {
      mean.sum += opinions[k].sum;
      mean.weight += opinions[k].weight;
    }
    const double says = mean.weight > 0.0 ? mean.sum / mean.weight : 0.0;
    model::Effort effort = model::Effort::easy;
    if (says < -0.5) effort = model::Effort::drifting;
    if (says >= 0.5) effort = model::Effort::hard;
    for (const model::Mark& mark : hand_set) {
      if (mark.kind == model::MarkKind::effort && mark.effort &&
          mark.range.start <= beats[i].frame && beats[i].frame < mark.range.end) {
        effort = *mark.effort;
      }
    }
    efforts.push_back(effort);
  }
  return efforts;
}

model::EffortCalibration measure_calibration(std::span<const EffortSign> beats,
                                             const model::EffortCalibration& from) {
  std::vector<double> loudness;
  std::vector<double> lengths;
  for (const EffortSign& beat : beats) {
    if (!beat.sound) continue;
    loudness.push_back(beat.sound->over_background_db);
    lengths.push_back(beat.sound->length_share);
  }
  model::EffortCalibration out = from;
  // A tenth of a dB and a hundredth of an interval are finer than any ear.
  if (const std::optional<Breaks> breaks = natural_breaks(std::move(loudness))) {
    out.drifting_below_db = rounded(breaks->low, 0.1);
    out.hard_from_db = rounded(breaks->high, 0.1);
  }
  if (const std::optional<Breaks> breaks = natural_breaks(std::move(lengths))) {
    out.drifting_below_share = rounded(breaks->low, 0.01);
    out.hard_from_share = rounded(breaks->high, 0.01);
  }
  return out;
}

model::EffortCalibration starting_calibration() {
  model::EffortCalibration figures;
  figures.drifting_below_db = 6.0;
  figures.hard_from_db = 12.0;
  figures.drifting_below_share = 0.25;
  figures.hard_from_share = 0.5;
  return figures;
}

}  // namespace fourbeat::work
