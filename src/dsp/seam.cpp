// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/seam.h"

#include "period.h"
#include "seam_known.h"
#include "seam_measures.h"
#include "seam_trend.h"

#include "fourbeat/base/random.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace fourbeat::dsp {

namespace {

constexpr double least_rate_hz = 2000.0;
constexpr double most_rate_hz = 768000.0;
constexpr double least_loop_s = 0.02;
constexpr double seam_reach_s = 0.05;
constexpr std::int64_t least_stretches = 10;
constexpr std::int64_t least_room = 2;  // stretches side by side, to be called clean
constexpr std::int64_t rhythm_span_hops = 300;
constexpr std::int64_t least_draws = 500;
constexpr std::int64_t longest_rhythm_hops = 1000;  // 5 s
/// Quotients closer to each other than 2 % are equal; so are those closer than one over the number
/// of stretches that find room side by side (30 % at most): the worst of so few says no more.
constexpr double heard_excess = 0.02;
constexpr double most_excess_of_few = 0.3;
constexpr double tell_floor_db = 40.0;
constexpr double clean_rank = 95.0;
constexpr double doubtful_rank = 99.0;

Error bad(std::string place, std::string detail) {
  return {ErrorCode::bad_argument, "", std::move(place), std::move(detail), ""};
}

Status check(const audio::Pcm& pcm, const LoopSpec& loop) {
  const double rate_hz = pcm.sample_rate_hz;
  if (!(rate_hz >= least_rate_hz && rate_hz <= most_rate_hz)) {
    return bad("sample_rate_hz", fmt::format("{:.6g} Hz; 2000 to 768000 can be measured", rate_hz));
  }
  const std::int64_t start = loop.range.start.value();
  const std::int64_t end = loop.range.end.value();
  const std::int64_t frames = pcm.frames().value();
  if (start < 0 || end > frames || start >= end) {
    return bad("range",
               fmt::format("loop {} to {} does not lie in the {} frames", start, end, frames));
  }
  const std::int64_t fade = loop.crossfade_frames.value();
  if (fade < 0 || fade > end - start) {
    return bad("crossfade_frames", fmt::format("{} frames in a loop of {}", fade, end - start));
  }
  if (static_cast<double>(end - start) < least_loop_s * rate_hz) {
    return Error{ErrorCode::too_short, "", "range",
                 fmt::format("a loop of {} frames is under 20 ms", end - start), ""};
  }
  for (const std::vector<float>& channel : pcm.channels) {
    if (static_cast<std::int64_t>(channel.size()) != frames)
      return bad("channels", "the channels are not equally long");
    const auto first = channel.begin() + start;
    const auto broken =
        std::find_if(first, channel.begin() + end, [](float x) { return !std::isfinite(x); });
    if (broken != channel.begin() + end) {
      return Error{ErrorCode::not_finite, "", fmt::format("frame {}", broken - channel.begin()), "",
                   ""};
    }
  }
  return ok();
}

/// One turn of every channel.
std::vector<std::vector<float>> turn_of(const audio::Pcm& pcm, const LoopSpec& loop) {
  std::vector<std::vector<float>> turn;
  for (const std::vector<float>& channel : pcm.channels) {
    turn.emplace_back(channel.begin() + loop.range.start.value(),
                      channel.begin() + loop.range.end.value());
  }
  return turn;
}

void remove_means(std::vector<std::vector<float>>& turn) {
  for (std::vector<float>& one : turn) {
    double sum = 0.0;
    for (const float x : one)
      sum += x;
    const auto mean = static_cast<float>(sum / static_cast<double>(one.size()));
    for (float& x : one)
      x -= mean;
  }
}

SeamGrid grid_of(const audio::Pcm& pcm, const LoopSpec& loop) {
  SeamGrid grid;
  grid.sample_rate_hz = pcm.sample_rate_hz;
  grid.loop_frames = loop.range.length().value();
  grid.hop_frames = hop_frames_of(pcm.sample_rate_hz);
  const std::int64_t reach = std::llround(seam_reach_s * pcm.sample_rate_hz);
  const std::int64_t fade = loop.crossfade_frames.value();
  const std::int64_t before = reach + (loop.at_start ? 0 : fade);
  const std::int64_t after = reach + (loop.at_start ? fade : 0);
  const auto hops_up = [&](std::int64_t frames) {
    return (frames + grid.hop_frames - 1) / grid.hop_frames;
  };
  grid.seam_first = -hops_up(before);
  grid.seam_last = hops_up(after);
  const std::int64_t turn_hops = grid.loop_frames / grid.hop_frames;
  grid.last = std::max(grid.seam_last, grid.seam_first + turn_hops - 1);
  return grid;
}

/// Which measures this loop can carry, and where its interior lies then.
struct Plan {
  std::array<bool, measure_count> wanted{};
  InteriorSpan interior;
  bool measurable = false;
};

InteriorSpan interior_of(const SeamGrid& grid, const std::array<bool, measure_count>& wanted) {
  std::int64_t margin = 1;
  for (std::size_t m = 0; m < measure_count; ++m) {
    if (wanted[m]) margin = std::max(margin, measure_kinds[m].window_hops);
  }
  return {grid.seam_points() + margin, grid.points() - 1 - margin};
}

Plan plan_of(const SeamGrid& grid) {
  Plan plan;
  for (std::size_t m = 0; m < measure_count; ++m) {
    plan.wanted[m] = 4 * measure_kinds[m].window_hops * grid.hop_frames <= grid.loop_frames;
  }
  while (true) {
    plan.interior = interior_of(grid, plan.wanted);
    const std::int64_t inner = plan.interior.points();
    if (plan.wanted[rhythm] && inner < rhythm_span_hops) {
      plan.wanted[rhythm] = false;
      continue;
    }
    if (inner - grid.seam_points() + 1 >= least_stretches) break;
    // Too little is left beside the windows: give up the longest of them.
    std::int64_t longest = 0;
    for (std::size_t m = 0; m < measure_count; ++m) {
      if (plan.wanted[m]) longest = std::max(longest, measure_kinds[m].window_hops);
    }
    if (longest == 0) return plan;
    for (std::size_t m = 0; m < measure_count; ++m) {
      if (measure_kinds[m].window_hops == longest) plan.wanted[m] = false;
    }
  }
  plan.measurable = plan.wanted[sample_step];
  return plan;
}

/// 95th percentile of a series over seeded interior points.
double inner_p95(const std::vector<float>& series, const std::vector<std::size_t>& draws) {
  std::vector<float> drawn;
  drawn.reserve(draws.size());
  for (const std::size_t at : draws)
    drawn.push_back(series[at]);
  const auto nth = drawn.begin() + static_cast<std::ptrdiff_t>(drawn.size() * 95 / 100);
  std::nth_element(drawn.begin(), nth, drawn.end());
  return *nth;
}

/// Largest value of each run of `width` values.
std::vector<float> running_maximum(std::span<const float> values, std::size_t width) {
  // Prefix maxima of blocks from the left and from the right (van Herk 1992; Gil, Werman 1993).
  const std::size_t n = values.size();
  if (width == 0 || n < width) return {};
  std::vector<float> left(n);
  std::vector<float> right(n);
  for (std::size_t i = 0; i < n; ++i)
    left[i] = i % width == 0 ? values[i] : std::max(left[i - 1], values[i]);
  for (std::size_t i = n; i-- > 0;)
    right[i] = (i + 1) % width == 0 || i + 1 == n ? values[i] : std::max(right[i + 1], values[i]);
  std::vector<float> out(n - width + 1);
  for (std::size_t i = 0; i < out.size(); ++i)
    out[i] = std::max(right[i], left[i + width - 1]);
  return out;
}

struct Badness {
  std::vector<float> at;  ///< by point: the largest quotient over measures and channels
  std::array<std::vector<double>, measure_count> p95;  ///< by channel
};

Badness badness_of(const SeamSeries& series, const Plan& plan, std::size_t points,
                   std::uint64_t seed) {
  Random random(seed);
  const std::int64_t inner = plan.interior.points();
  std::vector<std::size_t> draws(static_cast<std::size_t>(std::max(least_draws, inner)));
  for (std::size_t& draw : draws)
    draw = static_cast<std::size_t>(plan.interior.first + random.below(inner));
  Badness badness;
  badness.at.assign(points, 0.0F);
  for (std::size_t c = 0; c < series.values.size(); ++c) {
    for (std::size_t m = 0; m < measure_count; ++m) {
      const std::vector<float>& values = series.values[c][m];
      if (!plan.wanted[m] || values.empty()) continue;
      double least = measure_kinds[m].least_p95;
      if (m == sample_step || m == slope_step)
        least = std::max(1e-6, least * series.channel_rms[c]);
      const double p95 = std::max(least, inner_p95(values, draws));
      badness.p95[m].push_back(p95);
      for (std::size_t p = 0; p < points; ++p)
        badness.at[p] = std::max(badness.at[p], static_cast<float>(values[p] / p95));
    }
  }
  return badness;
}

std::int64_t longest_window(const Plan& plan) {
  std::int64_t longest = 1;
  for (std::size_t m = 0; m < measure_count; ++m) {
    if (plan.wanted[m]) longest = std::max(longest, measure_kinds[m].window_hops);
  }
  return longest;
}

/// Share of the interior stretches, as long as the seam's, whose worst point is less bad.
double rank_of(const Badness& badness, const Plan& plan, std::size_t seam_points) {
  const float seam_worst = std::max(
      1.0F, *std::max_element(badness.at.begin(),
                              badness.at.begin() + static_cast<std::ptrdiff_t>(seam_points)));
  const std::vector<float> worst =
      running_maximum(std::span(badness.at)
                          .subspan(static_cast<std::size_t>(plan.interior.first),
                                   static_cast<std::size_t>(plan.interior.points())),
                      seam_points);
  // What looks half a second to either side is new only a second later.
  const std::int64_t span =
      std::max(static_cast<std::int64_t>(seam_points), 2 * longest_window(plan));
  const double few = static_cast<double>(span) / static_cast<double>(plan.interior.points());
  const double equal = 1.0 + heard_excess + std::min(most_excess_of_few, few);
  const auto better = std::count_if(worst.begin(), worst.end(), [&](float inner) {
    return static_cast<double>(std::max(1.0F, inner)) * equal < seam_worst;
  });
  return 100.0 * static_cast<double>(better) / static_cast<double>(worst.size());
}

void report_measures(const SeamSeries& series, const Badness& badness, std::size_t seam_points,
                     SeamReport& report) {
  const auto worst = static_cast<std::size_t>(
      std::max_element(badness.at.begin(),
                       badness.at.begin() + static_cast<std::ptrdiff_t>(seam_points)) -
      badness.at.begin());
  for (std::size_t m = 0; m < measure_count; ++m) {
    if (badness.p95[m].empty()) continue;
    SeamMeasure measure{std::string(measure_kinds[m].name), 0.0, 0.0};
    for (std::size_t c = 0; c < badness.p95[m].size(); ++c) {
      const double value = series.values[c][m][worst];
      const double quotient = value / badness.p95[m][c];
      if (c > 0 && quotient <= measure.quotient) continue;
      measure.value = value;
      measure.quotient = quotient;
    }
    report.measures.push_back(std::move(measure));
  }
}

/// The most conspicuous moment over the typical one, in dB: octave levels over 50 ms against
/// their median; in a sound with a rhythm, the loudest of each period counts.
double tell_of(const SeamSeries& series, std::size_t points, std::optional<double> rhythm_hops) {
  const auto width = static_cast<std::size_t>(rhythm_hops ? std::ceil(*rhythm_hops) : 1.0);
  double tell_db = 0.0;
  for (const std::vector<float>& levels : series.octave_db) {
    std::vector<float> typical(series.octaves);
    std::vector<float> highest(series.octaves);
    for (std::size_t o = 0; o < series.octaves; ++o) {
      std::vector<float> one(points);
      for (std::size_t p = 0; p < points; ++p)
        one[p] = levels[p * series.octaves + o];
      std::vector<float> maxima = running_maximum(one, std::min(width, points));
      highest[o] = *std::max_element(maxima.begin(), maxima.end());
      const auto middle = maxima.begin() + static_cast<std::ptrdiff_t>(maxima.size() / 2);
      std::nth_element(maxima.begin(), middle, maxima.end());
      typical[o] = *middle;
    }
    if (typical.empty()) continue;
    const double floor = *std::max_element(typical.begin(), typical.end()) - tell_floor_db;
    for (std::size_t o = 0; o < series.octaves; ++o)
      tell_db = std::max(tell_db, highest[o] - std::max<double>(typical[o], floor));
  }
  return tell_db;
}

void find_periods(const std::vector<std::vector<float>>& turn, const SeamGrid& grid,
                  const SeamSeries& series, std::optional<double> rhythm_hops, SeamReport& report) {
  const std::optional<double> tone = tone_period_frames(turn, grid.sample_rate_hz);
  if (tone) {
    report.period_s = *tone / grid.sample_rate_hz;
    const std::size_t loudest = static_cast<std::size_t>(
        std::max_element(series.channel_rms.begin(), series.channel_rms.end()) -
        series.channel_rms.begin());
    // The turn begins where the seam's stretch begins.
    std::vector<float> from_seam = turn[loudest];
    const std::int64_t before = std::min(-grid.seam_first * grid.hop_frames, grid.loop_frames);
    std::rotate(from_seam.begin(), from_seam.end() - before, from_seam.end());
    report.whole_periods =
        runs_in_whole_periods(from_seam, grid.seam_points() * grid.hop_frames, *tone);
  }
  if (rhythm_hops) {
    report.period_s = *rhythm_hops * static_cast<double>(grid.hop_frames) / grid.sample_rate_hz;
    report.whole_periods = report.whole_periods &&
                           runs_in_whole_periods(series.level_db, grid.seam_points(), *rhythm_hops);
  }
}

SeamState state_of(const SeamReport& report, const LoopSpec& loop, const Plan& plan,
                   std::int64_t seam_points) {
  if (!plan.measurable || report.rank > doubtful_rank) return SeamState::unclean;
  const bool long_fade = 4 * loop.crossfade_frames.value() > loop.range.length().value();
  const auto measured = [&](MeasureIndex m) {
    return std::any_of(report.measures.begin(), report.measures.end(),
                       [&](const SeamMeasure& r) { return r.name == measure_kinds[m].name; });
  };
  const bool unknown = !measured(spectrum_fine) || !measured(rms_50ms) ||
                       plan.interior.points() < least_room * seam_points;
  if (report.rank > clean_rank || long_fade || !report.whole_periods || !report.steady() || unknown)
    return SeamState::doubtful;
  return SeamState::clean;
}

}  // namespace

Result<SeamReport> measure_seam(const audio::Pcm& rendered, const LoopSpec& loop,
                                std::uint64_t seed, JobControl& job) {
  if (Status checked = check(rendered, loop); !checked) return checked.error();
  return measure_seam_known(rendered, loop, {}, seed, job);
}

Result<SeamReport> measure_seam_known(const audio::Pcm& rendered, const LoopSpec& loop,
                                      const KnownHops& known, std::uint64_t seed, JobControl& job) {
  std::vector<std::vector<float>> turn = turn_of(rendered, loop);
  const SeamGrid grid = grid_of(rendered, loop);
  const Plan plan = plan_of(grid);
  Result<SeamSeries> series = measure_points(turn, grid, plan.wanted, plan.interior, known, job);

  if (!series) return series.error();

  SeamReport report;
  const auto points = static_cast<std::size_t>(grid.points());
  const auto seam_points = static_cast<std::size_t>(grid.seam_points());
  for (std::size_t m = 0; m < measure_count; ++m) {
    if (!plan.wanted[m]) report.omitted.emplace_back(measure_kinds[m].name);
  }
  if (plan.measurable) {
    const Badness badness = badness_of(*series, plan, points, seed);
    report.rank = rank_of(badness, plan, seam_points);
    report_measures(*series, badness, seam_points, report);
  }
  const std::optional<double> rhythm_hops =
      rhythm_period_steps(series->level_db, longest_rhythm_hops);
  report.tell_db = tell_of(*series, points, rhythm_hops);
  const SeamTrend trend = trend_of(*series, grid);
  report.level_drift_db = trend.level_db;
  report.tone_drift_db = trend.tone_db;
  report.octave_drift_db = trend.octave_db;
  report.octave_hz = trend.octave_hz;
  remove_means(turn);
  find_periods(turn, grid, *series, rhythm_hops, report);
  report.state = state_of(report, loop, plan, grid.seam_points());
  return report;
}

}  // namespace fourbeat::dsp
