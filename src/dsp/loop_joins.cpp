// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_joins.h"

#include "fourbeat/dsp/fft.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdlib>
#include <span>

namespace fourbeat::dsp {

namespace {

constexpr double wave_rate_hz = 6000.0;
constexpr std::size_t least_block = 8192;
constexpr std::int64_t around_steps = 25;
constexpr std::int64_t level_steps = 50;
constexpr std::int64_t tune_steps = 20;
constexpr std::int64_t classes = 8;  // an eighth root is three square roots
constexpr std::size_t lags_a_class = 6;
constexpr double transient_db = 6.0;  // a rise of the mean level about a start
constexpr double last_resort_db = 100.0;
constexpr double short_fine_db = 1.5;  // times a length's share missing to its class's longest
constexpr std::size_t starts_a_lag = 6;

/// Adds sum of x[i] × x[i + lag] for lag 0 to sums.size() - 1, in blocks, so that a long sequence
/// asks often for a cancel.
Status add_products(std::span<const float> x, std::vector<double>& sums, JobControl& job) {
  const std::size_t lags = sums.size();
  const std::size_t block = std::min(x.size(), std::max<std::size_t>(4 * lags, least_block));
  const RealFft fft(good_fft_size(block + lags));
  std::vector<float> near(fft.size());
  std::vector<float> far(fft.size());
  std::vector<std::complex<float>> near_bins(fft.size() / 2 + 1);
  std::vector<std::complex<float>> far_bins(fft.size() / 2 + 1);
  for (std::size_t from = 0; from < x.size(); from += block) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    const auto first = x.begin() + static_cast<std::ptrdiff_t>(from);
    std::fill(near.begin(), near.end(), 0.0F);
    std::fill(far.begin(), far.end(), 0.0F);
    std::copy_n(first, std::min(block, x.size() - from), near.begin());
    std::copy_n(first, std::min(block + lags, x.size() - from), far.begin());
    fft.forward(near, near_bins);
    fft.forward(far, far_bins);
    for (std::size_t k = 0; k < far_bins.size(); ++k)
      far_bins[k] *= std::conj(near_bins[k]);
    fft.inverse(far_bins, far);
    for (std::size_t lag = 0; lag < lags; ++lag)
      sums[lag] += static_cast<double>(far[lag]) / static_cast<double>(fft.size());
  }
  return ok();
}

/// Normalised autocorrelation of several sequences as one, lag 0 to most.
Result<std::vector<double>> common_autocorrelation(const std::vector<std::vector<float>>& sequences,
                                                   std::size_t most, JobControl& job) {
  std::vector<double> sums(most + 1, 0.0);
  std::vector<double> heads(most + 1, 0.0);
  std::vector<double> tails(most + 1, 0.0);
  for (const std::vector<float>& x : sequences) {
    if (Status added = add_products(x, sums, job); !added) return added.error();
    double total = 0.0;
    for (const float v : x)
      total += static_cast<double>(v) * v;
    double head = total;
    double tail = total;
    for (std::size_t lag = 0; lag <= most && lag < x.size(); ++lag) {
      heads[lag] += std::max(0.0, head);
      tails[lag] += std::max(0.0, tail);
      head -= static_cast<double>(x[x.size() - 1 - lag]) * x[x.size() - 1 - lag];
      tail -= static_cast<double>(x[lag]) * x[lag];
    }
  }
  for (std::size_t lag = 0; lag <= most; ++lag) {
    const double norm = std::sqrt(heads[lag] * tails[lag]);
    sums[lag] = norm > 1e-9 * heads[0] ? std::clamp(sums[lag] / norm, -1.0, 1.0) : 0.0;
  }
  return sums;
}

/// How much the material resembles itself at each lag in steps: waveform plus band levels.
Result<std::vector<double>> likeness(const std::vector<std::vector<float>>& channels,
                                     const Levels& levels, double rate_hz, std::size_t most_steps,
                                     JobControl& job) {
  std::vector<std::vector<float>> centred = levels.columns;
  for (std::size_t c = 0; c < centred.size(); ++c) {
    const auto mean = static_cast<float>(levels.mean(c, 0, levels.steps));
    for (float& x : centred[c])
      x -= mean;
  }
  Result<std::vector<double>> out = common_autocorrelation(centred, most_steps, job);
  if (!out) return out;

  const auto fold =
      static_cast<std::size_t>(std::max<std::int64_t>(1, std::llround(rate_hz / wave_rate_hz)));
  std::vector<std::vector<float>> waves;
  for (const std::vector<float>& channel : channels) {
    std::vector<float> wave(channel.size() / fold);
    for (std::size_t i = 0; i < wave.size(); ++i) {
      for (std::size_t k = 0; k < fold; ++k)
        wave[i] += channel[i * fold + k];
    }
    waves.push_back(std::move(wave));
  }
  const auto step = static_cast<std::size_t>(levels.step_frames);
  const std::size_t most = std::min(waves.front().size() - 1, (most_steps + 1) * step / fold);
  const Result<std::vector<double>> wave = common_autocorrelation(waves, most, job);
  if (!wave) return wave.error();
  for (std::size_t lag = 0; lag <= most_steps; ++lag) {
    double highest = 0.0;
    const std::size_t from = lag * step / fold - std::min(lag * step / fold, step / fold / 2);
    for (std::size_t i = from; i <= std::min(most, from + step / fold); ++i)
      highest = std::max(highest, (*wave)[i]);
    (*out)[lag] += highest;
  }
  return out;
}

/// The best lags of a class [from, to], no two within 5 % of each other; the longest as well where
/// it is asked for.
std::vector<std::int64_t> best_lags(const std::vector<double>& alike, std::int64_t from,
                                    std::int64_t to, std::size_t count, bool longest_too) {
  std::vector<std::int64_t> order;
  for (std::int64_t lag = to; lag >= from; --lag)
    order.push_back(lag);
  const auto value = [&](std::int64_t lag) { return alike[static_cast<std::size_t>(lag)]; };
  std::stable_sort(order.begin(), order.end(),
                   [&](std::int64_t a, std::int64_t b) { return value(a) > value(b); });
  std::vector<std::int64_t> chosen;
  if (longest_too) chosen.push_back(to);
  for (const std::int64_t lag : order) {
    if (chosen.size() == count) break;
    const bool fresh = std::all_of(chosen.begin(), chosen.end(), [&](std::int64_t other) {
      return 20 * std::abs(lag - other) > std::max(lag, other);
    });
    if (fresh) chosen.push_back(lag);
  }
  return chosen;
}

class Joiner {
 public:
  Joiner(const Levels& levels, std::int64_t least_steps, std::int64_t most_steps)
      : levels_(levels), least_steps_(least_steps), most_steps_(most_steps) {}

  /// The best starts at a lag, each with its lag then tuned to where it fits best.
  [[nodiscard]] std::vector<Join> at_lag(std::int64_t lag) const {
    const std::int64_t starts = levels_.steps - lag;
    if (starts < 1) return {};
    const std::vector<double> unlike = unlike_at(lag);
    const std::vector<float> events = loudest_within(lag, starts);
    std::vector<double> costs(static_cast<std::size_t>(starts));
    for (std::int64_t s = 0; s < starts; ++s) {
      const auto i = static_cast<std::size_t>(s);
      costs[i] = unlike[i] + about(s, s + lag) + 0.1 * static_cast<double>(events[i]);
      if (on_transient(s)) costs[i] += last_resort_db;
    }
    std::vector<Join> joins;
    std::vector<bool> taken(costs.size(), false);
    const std::int64_t apart = std::max<std::int64_t>(10, std::min(around_steps, starts / 8));
    for (std::size_t k = 0; k < starts_a_lag; ++k) {
      std::int64_t best = -1;
      for (std::int64_t s = 0; s < starts; ++s) {
        const auto i = static_cast<std::size_t>(s);
        if (!taken[i] && (best < 0 || costs[i] < costs[static_cast<std::size_t>(best)])) best = s;
      }
      if (best < 0) break;
      for (std::int64_t s = std::max<std::int64_t>(0, best - apart);
           s < std::min(starts, best + apart); ++s)
        taken[static_cast<std::size_t>(s)] = true;
      const double event = 0.1 * static_cast<double>(events[static_cast<std::size_t>(best)]);
      joins.push_back(tuned(best, lag, event));
    }
    return joins;
  }

 private:
  /// Root mean square difference in dB of the surroundings of s and s + lag, for every start s.
  [[nodiscard]] std::vector<double> unlike_at(std::int64_t lag) const {
    const std::int64_t starts = levels_.steps - lag;
    std::vector<double> sums(static_cast<std::size_t>(starts) + 1, 0.0);
    for (std::int64_t s = 0; s < starts; ++s)
      sums[static_cast<std::size_t>(s) + 1] =
          sums[static_cast<std::size_t>(s)] + square(s, s + lag);
    std::vector<double> out(static_cast<std::size_t>(starts));
    for (std::int64_t s = 0; s < starts; ++s) {
      const std::int64_t from = std::max<std::int64_t>(0, s - around_steps);
      const std::int64_t to = std::min(starts, s + around_steps + 1);
      out[static_cast<std::size_t>(s)] =
          std::sqrt((sums[static_cast<std::size_t>(to)] - sums[static_cast<std::size_t>(from)]) /
                    static_cast<double>(to - from) / static_cast<double>(levels_.columns.size()));
    }
    return out;
  }

  [[nodiscard]] double square(std::int64_t a, std::int64_t b) const {
    double sum = 0.0;
    for (const std::vector<float>& column : levels_.columns) {
      const double d = static_cast<double>(column[static_cast<std::size_t>(a)]) -
                       column[static_cast<std::size_t>(b)];
      sum += d * d;
    }
    return sum;
  }

  [[nodiscard]] double unlike(std::int64_t start, std::int64_t end) const {
    double sum = 0.0;
    int count = 0;
    for (std::int64_t d = -around_steps; d <= around_steps; ++d) {
      if (start + d < 0 || end + d >= levels_.steps) continue;
      sum += square(start + d, end + d);
      ++count;
    }
    return std::sqrt(sum / std::max(1, count) / static_cast<double>(levels_.columns.size()));
  }

  /// What the wrap itself does: the step in the mean levels before the end and after the start,
  /// and a sound that just begins there.
  [[nodiscard]] double about(std::int64_t start, std::int64_t end) const {
    double squares = 0.0;
    for (const std::int64_t span : {std::min(level_steps, (end - start) / 4), std::int64_t{5}}) {
      const std::int64_t before = std::max(start, end - std::max<std::int64_t>(1, span));
      const std::int64_t after = std::min(end, start + std::max<std::int64_t>(1, span));
      for (std::size_t c = 0; c < levels_.columns.size(); ++c) {
        const double step = levels_.mean(c, start, after) - levels_.mean(c, before, end);
        squares += (span > 5 ? 1.0 : 0.25) * step * step;
      }
    }
    const double rise = std::max(levels_.rise_db[static_cast<std::size_t>(start)],
                                 levels_.rise_db[static_cast<std::size_t>(end)]);
    return 2.0 * std::sqrt(squares / static_cast<double>(levels_.columns.size())) + 0.3 * rise;
  }

  [[nodiscard]] std::vector<float> loudest_within(std::int64_t lag, std::int64_t starts) const {
    std::vector<float> out(static_cast<std::size_t>(starts));
    // A queue of falling values: its head is the largest of the window.
    std::vector<std::int64_t> queue;
    std::size_t head = 0;
    const auto value = [&](std::int64_t i) {
      return levels_.event_db[static_cast<std::size_t>(i)];
    };
    for (std::int64_t i = 0; i < levels_.steps; ++i) {
      while (queue.size() > head && value(queue.back()) <= value(i))
        queue.pop_back();
      queue.push_back(i);
      if (queue[head] < i - lag) ++head;
      if (i >= lag) out[static_cast<std::size_t>(i - lag)] = value(queue[head]);
    }
    return out;
  }

  [[nodiscard]] bool on_transient(std::int64_t start) const {
    return levels_.rise_db[static_cast<std::size_t>(start)] >= transient_db;
  }

  [[nodiscard]] Join tuned(std::int64_t start, std::int64_t lag, double event) const {
    Join best;
    bool first = true;
    for (std::int64_t d = 0; d <= 2 * tune_steps; ++d) {
      const std::int64_t moved = lag + (d % 2 == 0 ? d / 2 : -(d + 1) / 2);
      if (moved < least_steps_ || moved > most_steps_ || start + moved >= levels_.steps) continue;
      const double cost = unlike(start, start + moved) + about(start, start + moved) + event;
      if (!first && cost >= best.cost_db) continue;
      best = {start * levels_.step_frames, (start + moved) * levels_.step_frames,
              on_transient(start), cost};
      first = false;
    }
    return best;
  }

  const Levels& levels_;
  std::int64_t least_steps_;
  std::int64_t most_steps_;
};

bool same_join(const Join& a, const Join& b) {
  const std::int64_t shared =
      std::min(a.end_frame, b.end_frame) - std::max(a.start_frame, b.start_frame);
  const std::int64_t spanned =
      std::max(a.end_frame, b.end_frame) - std::min(a.start_frame, b.start_frame);
  return 100 * shared > 97 * spanned;
}

/// Drops what starts on a transient, unless nothing else is left.
void leave_transients_out(std::vector<std::vector<Join>>& by_class) {
  const auto sudden = [](const Join& join) { return join.on_transient; };
  const bool any_calm =
      std::any_of(by_class.begin(), by_class.end(), [&](const std::vector<Join>& joins) {
        return !std::all_of(joins.begin(), joins.end(), sudden);
      });
  if (!any_calm) return;
  for (std::vector<Join>& joins : by_class)
    joins.erase(std::remove_if(joins.begin(), joins.end(), sudden), joins.end());
}

}  // namespace

Result<std::vector<Join>> find_joins(const std::vector<std::vector<float>>& channels,
                                     const Levels& levels, const JoinLimits& limits,
                                     JobControl& job) {
  if (levels.columns.empty()) return std::vector<Join>{};
  const std::int64_t step = levels.step_frames;
  const std::int64_t least = std::max<std::int64_t>(1, limits.least_frames / step);
  const std::int64_t most = std::min(levels.steps - 1, (limits.most_frames + step - 1) / step);
  if (most < least) return std::vector<Join>{};
  const Result<std::vector<double>> alike =
      likeness(channels, levels, limits.sample_rate_hz, static_cast<std::size_t>(most), job);
  if (!alike) return alike.error();
  const Joiner joiner(levels, least, most);

  // Classes of lengths in equal ratios, the longest first.
  const double eighth =
      std::sqrt(std::sqrt(std::sqrt(static_cast<double>(most + 1) / static_cast<double>(least))));
  std::vector<std::vector<Join>> by_class;
  std::int64_t to = most;
  double bound = static_cast<double>(most + 1);
  for (std::int64_t k = 1; k <= classes && to >= least; ++k) {
    bound /= eighth;
    const std::int64_t from =
        k == classes ? least : std::clamp(static_cast<std::int64_t>(bound), least, to);
    std::vector<Join> joins;
    for (const std::int64_t lag : best_lags(*alike, from, to, lags_a_class, k == 1)) {
      if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
      for (Join join : joiner.at_lag(lag)) {
        join.cost_db += short_fine_db * static_cast<double>(to - lag) / static_cast<double>(to);
        joins.push_back(join);
      }
    }
    std::stable_sort(joins.begin(), joins.end(),
                     [](const Join& a, const Join& b) { return a.cost_db < b.cost_db; });
    by_class.push_back(std::move(joins));
    to = from - 1;
  }

  leave_transients_out(by_class);

  // In turn from every class, until there are enough.
  std::vector<Join> chosen;
  std::vector<std::size_t> next(by_class.size(), 0);
  for (bool more = true; more && chosen.size() < limits.count;) {
    more = false;
    for (std::size_t k = 0; k < by_class.size() && chosen.size() < limits.count; ++k) {
      while (next[k] < by_class[k].size()) {
        const Join& join = by_class[k][next[k]++];
        if (std::any_of(chosen.begin(), chosen.end(),
                        [&](const Join& other) { return same_join(join, other); }))
          continue;
        chosen.push_back(join);
        more = true;
        break;
      }
    }
  }
  return chosen;
}

}  // namespace fourbeat::dsp
