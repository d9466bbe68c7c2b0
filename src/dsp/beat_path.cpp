// SPDX-License-Identifier: GPL-3.0-or-later
#include "beat_path.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <limits>

namespace fourbeat::dsp {

namespace {

/// Steps of the rate grid, in natural logarithm and as a ratio.
constexpr double rate_step = 0.03;
constexpr double rate_ratio = 1.0304545339535169;
/// Spread of an interval about the smooth one, in logarithm (Student's t, 3 degrees of freedom):
/// uneven exhausts, turbulence.
constexpr double interval_sigma = 0.05;
constexpr double interval_limit = 0.20;
/// Spread of the acceleration in beats/s², about 0.7 m/s² at 1 m of road a beat: what a light
/// engine or a brake can; and the most that is believed.
constexpr double rate_change_sigma = 0.7;
constexpr double rate_change_limit = 2.0;
/// In one interval the rate at most grows 2.5 times: a train that starts evenly gives 2.4 (1 to
/// sqrt(2) − 1) from its first interval to its second.
constexpr double most_change_steps = 30.0;
/// Wheels that slip, or grip again, change their rate at once, by a factor of 1.8 an interval and
/// less, at this price each.
constexpr int slip_steps = 20;
constexpr float slip_cost = 3.0F;
/// Price of passing over what could be beats, for each nat that they would bring.
constexpr double passing_price = 0.4;
/// What a full beat pays, and the strength (over the reference) at which it pays nothing.
constexpr double reward_scale = 6.0;
constexpr double break_even = 0.3;
/// The slope under it: a beat that is hardly there costs as much as a full one brings.
constexpr double short_scale = 16.0;
constexpr double full_strength = 1.2;
/// Price of a beat that must be there and is not heard, and the longest two intervals around one.
constexpr double unheard_cost = 6.0;
constexpr double longest_unheard_s = 1.2;
/// Price of a stretch, what about four beats bring, and the intervals without a beat before it.
constexpr double stretch_cost = 16.0;
constexpr double break_intervals = 2.0;
/// Resolution of the table of the law of intervals.
constexpr double fits_per_step = 32.0;
/// Farthest candidate back; at most one lies in a hop's time, so this is never met.
constexpr std::size_t most_back = 1000;
/// Candidates whose ways to slip are kept.
constexpr std::size_t slip_ring = 1024;
/// An interval that passes over beats worth this much, some ten full ones, is not thought of.
constexpr double most_passed_over = 45.0;
constexpr std::size_t candidates_per_check = 64;
constexpr float never = -1e30F;

struct RateGrid {
  double first_ln = 0.0;
  int size = 0;
};

/// Where the best path to a (candidate, rate) came from.
struct Origin {
  std::int16_t back = 0;  ///< candidates back; 0: it starts here
  std::int16_t rate = 0;
};

/// The beat that closed a stretch; candidate −1: none did.
struct Closing {
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

/// The law of a change by k grid steps over one interval: P(k) ∝ θ^|k|, of the variance that the
/// acceleration's spread gives.
struct ChangeLaw {
  float per_step = 0.0F;  ///< ln θ
  int limit = 0;          ///< greatest |k|
};

ChangeLaw change_law(double interval_s) {
  const double relative = interval_s * interval_s / rate_step;  // steps for each beat/s²
  const double variance = rate_change_sigma * rate_change_sigma * relative * relative;
  // variance = 2 θ / (1 − θ)², solved for θ.
  const double theta = (variance + 1.0 - std::sqrt(2.0 * variance + 1.0)) / variance;
  ChangeLaw law;
  law.per_step = static_cast<float>(plain_ln(theta));
  const double most = std::min(rate_change_limit * relative, most_change_steps);
  law.limit = 1 + static_cast<int>(most);
  return law;
}

double reward_of(double relative) {
  const double gain = std::min(relative, full_strength) - break_even;
  return gain < 0.0 ? short_scale * gain : reward_scale * gain;
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
    arrivals_.resize(static_cast<std::size_t>(grid_.size));
    slips_.resize(slip_ring * static_cast<std::size_t>(grid_.size));
    const int fits = 2 + static_cast<int>(fits_per_step * interval_limit / rate_step);
    for (int i = 0; i < fits; ++i) {
      const double stray = i / fits_per_step * rate_step / interval_sigma;
      fit_.push_back(static_cast<float>(-2.0 * plain_ln(1.0 + stray * stray / 3.0)));
    }
    break_at_.assign(static_cast<std::size_t>(grid_.size), 0);
    double rate_hz = params.least_rate_hz;
    for (int rate = 0; rate < grid_.size; ++rate, rate_hz *= rate_ratio) {
      rates_hz_.push_back(rate_hz);
      over_share_.push_back(1.0 / strength_share(rate_hz));
    }
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
    const double relative = candidates_[to].strength / candidates_[to].reference;
    const float idle_before = to == 0 ? 0.0F : idle_[to - 1];
    for (int rate = 0; rate < grid_.size; ++rate) {
      const std::size_t free = idle_count(to, rate);
      table_.score[table_.at(to, rate)] =
          (free == 0 ? 0.0F : idle_[free - 1]) - static_cast<float>(stretch_cost);
    }
    double passed_over = 0.0;
    for (std::size_t from = to; from-- > 0 && passed_over < most_passed_over;) {
      const double interval_s = candidates_[to].time_s - candidates_[from].time_s;
      if (interval_s > longest_s_ || to - from > most_back) break;
      extend(from, to, interval_s, 1, passed_over);
      if (interval_s <= longest_unheard_s) extend(from, to, interval_s, 2, passed_over);
      passed_over +=
          std::max(0.0, reward_of(candidates_[from].strength / candidates_[from].reference));
    }
    float best = never;
    int best_rate = 0;
    for (int rate = 0; rate < grid_.size; ++rate) {
      float& score = table_.score[table_.at(to, rate)];
      score +=
          static_cast<float>(reward_of(relative * over_share_[static_cast<std::size_t>(rate)]));
      if (score > best) {
        best = score;
        best_rate = rate;
      }
    }
    reach_by_slip(to);
    idle_[to] = idle_before;
    idle_from_[to] = Closing{};
    if (best > idle_before) {
      idle_[to] = best;
      idle_from_[to] = Closing{static_cast<std::int32_t>(to), static_cast<std::int16_t>(best_rate)};
    }
  }

  /// Candidates that lie a break and more before `to`. Called with rising `to`.
  std::size_t idle_count(std::size_t to, int rate) {
    std::size_t& count = break_at_[static_cast<std::size_t>(rate)];
    const double until_s =
        candidates_[to].time_s - break_intervals / rates_hz_[static_cast<std::size_t>(rate)];
    while (count < to && candidates_[count].time_s <= until_s)
      ++count;
    return count;
  }

  /// Paths whose last step is from → to, of `intervals` intervals: 2 passes over a beat unheard.
  /// passed_over: worth of the candidates between.
  void extend(std::size_t from, std::size_t to, double step_s, int intervals, double passed_over) {
    const double interval_s = step_s / intervals;
    const double centre = (-plain_ln(interval_s) - grid_.first_ln) / rate_step;
    const double reach = interval_limit / rate_step / intervals;
    const int low = std::max(0, static_cast<int>(std::ceil(centre - reach)));
    const int high = std::min(grid_.size - 1, static_cast<int>(std::floor(centre + reach)));
    if (low > high) return;
    const ChangeLaw law = change_law(interval_s);
    const auto price =
        static_cast<float>((intervals - 1) * unheard_cost + passing_price * passed_over);
    reach_rates(from, std::max(0, low - law.limit), std::min(grid_.size - 1, high + law.limit),
                law.per_step);
    const Arrival* slips = slips_of(from);
    for (int rate = low; rate <= high; ++rate) {
      const Arrival& even = arrivals_[static_cast<std::size_t>(rate)];
      const Arrival& arrival = slips[rate].score > even.score ? slips[rate] : even;
      const float best = arrival.score + fit_at(rate - centre) - price;
      const std::size_t at = table_.at(to, rate);
      if (best > table_.score[at]) {
        table_.score[at] = best;
        table_.origin[at] = {static_cast<std::int16_t>(to - from), arrival.from_rate};
      }
    }
  }

  /// For each rate of [least, most] the best rate to come from, a step costing `per_step` (< 0):
  /// two sweeps, as in a distance transform (Felzenszwalb and Huttenlocher 2012).
  void reach_rates(std::size_t from, int least, int most, float per_step) {
    for (int rate = least; rate <= most; ++rate) {
      Arrival& arrival = arrivals_[static_cast<std::size_t>(rate)];
      arrival = {table_.score[table_.at(from, rate)], static_cast<std::int16_t>(rate)};
      if (rate > least) improve(arrival, arrivals_[static_cast<std::size_t>(rate) - 1], per_step);
    }
    for (int rate = most - 1; rate >= least; --rate)
      improve(arrivals_[static_cast<std::size_t>(rate)],
              arrivals_[static_cast<std::size_t>(rate) + 1], per_step);
  }

  struct Arrival {
    float score = 0.0F;
    std::int16_t from_rate = 0;
  };

  /// For each rate the best one to slip from: the greatest score within slip_steps, a running
  /// maximum over a queue of falling scores.
  void reach_by_slip(std::size_t from) {
    const float* scores = &table_.score[table_.at(from, 0)];
    Arrival* out = slips_of(from);
    queue_.clear();
    std::size_t head = 0;
    int next = 0;
    for (int rate = 0; rate < grid_.size; ++rate) {
      for (; next < grid_.size && next <= rate + slip_steps; ++next) {
        while (queue_.size() > head && scores[queue_.back()] <= scores[next])
          queue_.pop_back();
        queue_.push_back(static_cast<std::int16_t>(next));
      }
      while (queue_[head] < rate - slip_steps)
        ++head;
      out[rate] = {scores[queue_[head]] - slip_cost, queue_[head]};
    }
  }
  /// Only candidates within the longest interval are asked for: the ring holds more.
  [[nodiscard]] Arrival* slips_of(std::size_t candidate) {
    return &slips_[candidate % slip_ring * static_cast<std::size_t>(grid_.size)];
  }
  static void improve(Arrival& arrival, const Arrival& neighbour, float per_step) {
    if (neighbour.score + per_step > arrival.score)
      arrival = {neighbour.score + per_step, neighbour.from_rate};
  }

  /// Log-likelihood, to a constant, of an interval `steps` of the rate grid off.
  [[nodiscard]] float fit_at(double steps) const {
    return fit_[static_cast<std::size_t>(std::lround(std::fabs(steps) * fits_per_step))];
  }

  [[nodiscard]] std::vector<PathBeat> trace() const {
    std::vector<PathBeat> beats;
    auto at = static_cast<std::int64_t>(candidates_.size()) - 1;
    while (at >= 0) {
      const Closing closing = idle_from_[static_cast<std::size_t>(at)];
      if (closing.candidate < 0) {
        --at;
        continue;
      }
      at = trace_stretch(closing, beats);
    }
    std::reverse(beats.begin(), beats.end());
    return beats;
  }

  /// Adds a stretch from its last beat to its first; returns the last candidate before its break.
  std::int64_t trace_stretch(const Closing& closing, std::vector<PathBeat>& beats) const {
    auto candidate = static_cast<std::size_t>(closing.candidate);
    auto rate = static_cast<std::size_t>(closing.rate);
    while (true) {
      const Origin origin = table_.origin[table_.at(candidate, static_cast<int>(rate))];
      PathBeat beat;
      beat.candidate = candidate;
      beat.rate_hz = rates_hz_[rate];
      beat.starts = origin.back == 0;
      beats.push_back(beat);
      if (beat.starts) break;
      const double step_s = candidates_[candidate].time_s -
                            candidates_[candidate - static_cast<std::size_t>(origin.back)].time_s;
      beats.back().after_unheard = step_s * beat.rate_hz > 1.5;
      candidate -= static_cast<std::size_t>(origin.back);
      rate = static_cast<std::size_t>(origin.rate);
    }
    const double until_s = candidates_[candidate].time_s - break_intervals / rates_hz_[rate];
    auto at = static_cast<std::int64_t>(candidate) - 1;
    while (at >= 0 && candidates_[static_cast<std::size_t>(at)].time_s > until_s)
      --at;
    return at;
  }

  std::span<const Candidate> candidates_;
  RateGrid grid_;
  double longest_s_ = 0.0;
  Table table_;
  std::vector<float> idle_;            ///< best score with no stretch open after a candidate
  std::vector<Arrival> arrivals_;      ///< see reach_rates
  std::vector<Arrival> slips_;         ///< see reach_by_slip
  std::vector<std::int16_t> queue_;    ///< likewise
  std::vector<float> fit_;             ///< see fit_at
  std::vector<double> rates_hz_;       ///< of the grid
  std::vector<double> over_share_;     ///< 1 over strength_share of the grid's rates
  std::vector<std::size_t> break_at_;  ///< see idle_count
  std::vector<Closing> idle_from_;  ///< the beat that closed a stretch there; candidate −1: none
};

}  // namespace

double strength_share(double rate_hz) {
  constexpr double room_hz = 1.0 / 0.160;
  return rate_hz <= room_hz ? 1.0 : std::sqrt(room_hz / rate_hz);
}

Result<std::vector<PathBeat>> best_path(std::span<const Candidate> candidates,
                                        const PathParams& params, const JobControl& job) {
  return Search(candidates, params).run(job);
}

}  // namespace fourbeat::dsp
