// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_path.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

namespace fourbeat::dsp {

namespace {

/// Steps of the rate grid, in natural logarithm.
constexpr double rate_step = 0.03;
/// Spread of an interval about the smooth one: uneven exhausts, turbulence.
constexpr double interval_sigma = 0.05;
constexpr double interval_limit = 0.20;
/// Spread of the acceleration in beats/s²: 0.35 m/s² at 1 m of road a beat, more than a loaded
/// train shows and less than a light engine can; and the most that is believed.
constexpr double rate_change_sigma = 0.35;
constexpr double rate_change_limit = 2.0;
/// What a full beat pays, and the strength (over the reference) at which it pays nothing.
constexpr double reward_scale = 6.0;
constexpr double break_even = 0.3;
constexpr double full_strength = 1.2;
/// Price of a stretch, what about three beats bring, and the intervals without a beat before it.
constexpr double stretch_cost = 8.0;
constexpr double break_intervals = 2.0;
constexpr std::size_t candidates_per_check = 64;
constexpr float never = -1e30F;

struct RateGrid {
  double first_ln = 0.0;
  int size = 0;
  [[nodiscard]] double ln_rate(int index) const { return first_ln + rate_step * index; }
};

/// Where the best path to a (candidate, rate) came from; candidate −1: it starts here.
struct Origin {
  std::int32_t candidate = -1;
  std::int16_t rate = 0;
};

struct Table {
  int rates = 0;
  std::vector<float> score;
  std::vector<Origin> origin;
  [[nodiscard]] std::size_t at(std::size_t candidate, int rate) const {
    return candidate * static_cast<std::size_t>(rates) + static_cast<std::size_t>(rate);
  }
};

/// The law of a change by k grid steps over one interval: P(k) = (1 − θ) / (1 + θ) θ^|k|, of the
/// variance that the acceleration's spread gives.
struct ChangeLaw {
  float stay = 0.0F;      ///< ln P(0)
  float per_step = 0.0F;  ///< ln θ
  int limit = 0;          ///< greatest |k|
};

ChangeLaw change_law(double interval_s) {
  const double relative = interval_s * interval_s / rate_step;  // steps for each beat/s²
  const double variance = rate_change_sigma * rate_change_sigma * relative * relative;
  // variance = 2 θ / (1 − θ)², solved for θ.
  const double theta = (variance + 1.0 - std::sqrt(2.0 * variance + 1.0)) / variance;
  ChangeLaw law;
  law.stay = static_cast<float>(plain_ln((1.0 - theta) / (1.0 + theta)));
  law.per_step = static_cast<float>(plain_ln(theta));
  const double most = std::min(rate_change_limit * relative, 40.0);
  law.limit = 1 + static_cast<int>(most);
  return law;
}

double reward_of(const Candidate& candidate) {
  const double relative = std::min(candidate.strength / candidate.reference, full_strength);
  return reward_scale * (relative - break_even);
}

class Search {
 public:
  Search(std::span<const Candidate> candidates, const PathParams& params)
      : candidates_(candidates) {
    grid_.first_ln = plain_ln(params.least_rate_hz);
    grid_.size =
        1 + static_cast<int>((plain_ln(params.greatest_rate_hz) - grid_.first_ln) / rate_step);
    longest_s_ = (1.0 + interval_limit) / params.least_rate_hz;
    table_.rates = grid_.size;
    const std::size_t cells = candidates.size() * static_cast<std::size_t>(grid_.size);
    table_.score.assign(cells, never);
    table_.origin.resize(cells);
    idle_.resize(candidates.size());
    idle_from_.resize(candidates.size());
    break_at_.assign(static_cast<std::size_t>(grid_.size), 0);
    for (int rate = 0; rate < grid_.size; ++rate)
      break_s_.push_back(break_intervals / std::exp(grid_.ln_rate(rate)));
  }

  Result<std::vector<PathBeat>> run(const JobControl& job) {
    for (std::size_t i = 0; i < candidates_.size(); ++i) {
      if (i % candidates_per_check == 0 && job.cancelled())
        return Error{ErrorCode::cancelled, "", "", "", ""};
      visit(i);
    }
    return trace();
  }

 private:
  void visit(std::size_t to) {
    const auto reward = static_cast<float>(reward_of(candidates_[to]));
    const float idle_before = to == 0 ? 0.0F : idle_[to - 1];
    for (int rate = 0; rate < grid_.size; ++rate) {
      const std::size_t free = idle_count(to, rate);
      table_.score[table_.at(to, rate)] =
          (free == 0 ? 0.0F : idle_[free - 1]) - static_cast<float>(stretch_cost);
    }
    for (std::size_t from = to; from-- > 0;) {
      const double interval_s = candidates_[to].time_s - candidates_[from].time_s;
      if (interval_s > longest_s_) break;
      extend(from, to, interval_s);
    }
    float best = never;
    int best_rate = 0;
    for (int rate = 0; rate < grid_.size; ++rate) {
      float& score = table_.score[table_.at(to, rate)];
      score += reward;
      if (score > best) {
        best = score;
        best_rate = rate;
      }
    }
    idle_[to] = idle_before;
    idle_from_[to] = Origin{-1, 0};
    if (best > idle_before) {
      idle_[to] = best;
      idle_from_[to] = Origin{static_cast<std::int32_t>(to), static_cast<std::int16_t>(best_rate)};
    }
  }

  /// Candidates that lie a break and more before `to`. Called with rising `to`.
  std::size_t idle_count(std::size_t to, int rate) {
    std::size_t& count = break_at_[static_cast<std::size_t>(rate)];
    const double until_s = candidates_[to].time_s - break_s_[static_cast<std::size_t>(rate)];
    while (count < to && candidates_[count].time_s <= until_s)
      ++count;
    return count;
  }

  /// Paths whose last interval is from → to.
  void extend(std::size_t from, std::size_t to, double interval_s) {
    const double ln_interval = plain_ln(interval_s);
    const double centre = (-ln_interval - grid_.first_ln) / rate_step;
    const double reach = interval_limit / rate_step;
    const int low = std::max(0, static_cast<int>(std::ceil(centre - reach)));
    const int high = std::min(grid_.size - 1, static_cast<int>(std::floor(centre + reach)));
    if (low > high) return;
    const ChangeLaw law = change_law(interval_s);
    for (int rate = low; rate <= high; ++rate) {
      const double stray = (rate - centre) * rate_step / interval_sigma;
      // Against the even spread of interval_limit on either side: an interval says something.
      const auto fit = static_cast<float>(-2.0 * plain_ln(1.0 + stray * stray / 3.0));
      const int least = std::max(0, rate - law.limit);
      const int most = std::min(grid_.size - 1, rate + law.limit);
      float best = never;
      int best_rate = 0;
      for (int before = least; before <= most; ++before) {
        const float score = table_.score[table_.at(from, before)] +
                            law.per_step * static_cast<float>(std::abs(before - rate));
        if (score > best) {
          best = score;
          best_rate = before;
        }
      }
      best += fit;
      float& score = table_.score[table_.at(to, rate)];
      if (best > score) {
        score = best;
        table_.origin[table_.at(to, rate)] = {static_cast<std::int32_t>(from),
                                              static_cast<std::int16_t>(best_rate)};
      }
    }
  }

  [[nodiscard]] std::vector<PathBeat> trace() const {
    std::vector<PathBeat> beats;
    auto at = static_cast<std::int64_t>(candidates_.size()) - 1;
    while (at >= 0) {
      Origin state = idle_from_[static_cast<std::size_t>(at)];
      if (state.candidate < 0) {
        --at;
        continue;
      }
      while (state.candidate >= 0) {
        const auto candidate = static_cast<std::size_t>(state.candidate);
        PathBeat beat;
        beat.candidate = candidate;
        beat.rate_hz = std::exp(grid_.ln_rate(state.rate));
        const Origin before = table_.origin[table_.at(candidate, state.rate)];
        beat.starts = before.candidate < 0;
        beats.push_back(beat);
        if (beat.starts) {
          const double until_s =
              candidates_[candidate].time_s - break_s_[static_cast<std::size_t>(state.rate)];
          at = static_cast<std::int64_t>(candidate) - 1;
          while (at >= 0 && candidates_[static_cast<std::size_t>(at)].time_s > until_s)
            --at;
        }
        state = before;
      }
    }
    std::reverse(beats.begin(), beats.end());
    return beats;
  }

  std::span<const Candidate> candidates_;
  RateGrid grid_;
  double longest_s_ = 0.0;
  Table table_;
  std::vector<float> idle_;            ///< best score with no stretch open after a candidate
  std::vector<double> break_s_;        ///< shortest break at each rate
  std::vector<std::size_t> break_at_;  ///< see idle_count
  std::vector<Origin> idle_from_;  ///< the beat that closed a stretch there; candidate −1: none
};

}  // namespace

Result<std::vector<PathBeat>> best_path(std::span<const Candidate> candidates,
                                        const PathParams& params, const JobControl& job) {
  return Search(candidates, params).run(job);
}

}  // namespace fourbeat::dsp
