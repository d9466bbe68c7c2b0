// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_drift.h"

#include "octave_ramp.h"
#include "plain_log.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>

namespace fourbeat::dsp {

namespace {

constexpr std::size_t parts = 16;
constexpr double least_power = 1e-10;  // -100 dBFS
constexpr double least_drift_db = 0.5;
/// What loses half its power within a second dies away: that is an event, not a drift.
constexpr double most_db_a_second = 3.0;
constexpr double least_errors = 4.0;
constexpr double sounding_db = 40.0;     // an octave this far under the strongest is not heard
constexpr std::size_t first_octave = 1;  // of the bands of Levels: the one below 200 Hz is left out

using Parts = std::array<double, parts>;

double sum_of_squares(const Parts& values, std::size_t from, std::size_t to) {
  double mean = 0.0;
  for (std::size_t k = from; k < to; ++k)
    mean += values.at(k) / static_cast<double>(to - from);
  double sum = 0.0;
  for (std::size_t k = from; k < to; ++k)
    sum += (values.at(k) - mean) * (values.at(k) - mean);
  return sum;
}

/// Least squares over the place in the loop, -1/2 to 1/2.
struct Line {
  double slope = 0.0;  ///< over the whole loop
  double rest = 0.0;   ///< sum of squares about it
  double error = 0.0;  ///< standard error of the slope
};

Line line_through(const Parts& values) {
  const auto place = [](std::size_t k) {
    return (static_cast<double>(k) + 0.5) / static_cast<double>(parts) - 0.5;
  };
  Line line;
  double spread = 0.0;
  for (std::size_t k = 0; k < parts; ++k) {
    line.slope += place(k) * values.at(k);
    spread += place(k) * place(k);
  }
  line.slope /= spread;
  Parts rest = values;
  for (std::size_t k = 0; k < parts; ++k)
    rest.at(k) -= line.slope * place(k);
  line.rest = sum_of_squares(rest, 0, parts);
  line.error = std::sqrt(line.rest / static_cast<double>(parts - 2) / spread);
  return line;
}

/// What is left about the best step: one level before some part, another after it; in that part the
/// step may lie anywhere.
double rest_about_step(const Parts& values) {
  double least = sum_of_squares(values, 0, parts);
  for (std::size_t k = 1; k + 1 < parts; ++k)
    least = std::min(least, sum_of_squares(values, 0, k) + sum_of_squares(values, k + 1, parts));
  return least;
}

bool slow(double drift_db, double seconds) {
  return std::abs(drift_db) <= std::min(most_drift_db, most_db_a_second * seconds);
}

bool drifts(const Parts& values, double seconds) {
  const Line line = line_through(values);
  const double size_db = std::abs(line.slope);
  // Slow even where chance hides as much of it as it may.
  return size_db >= least_drift_db && slow(size_db + 2.0 * line.error, seconds) &&
         size_db >= least_errors * line.error && line.rest <= rest_about_step(values);
}

double to_hundredths(double db) {
  return std::round(db * 100.0) / 100.0;
}

double level_drift_db(const std::vector<std::vector<float>>& channels, const FrameRange& range,
                      double seconds) {
  const std::int64_t start = range.start.value();
  const std::int64_t length = range.length().value();
  Parts levels_db{};
  for (std::size_t k = 0; k < parts; ++k) {
    const std::int64_t from =
        start + static_cast<std::int64_t>(k) * length / static_cast<std::int64_t>(parts);
    const std::int64_t to =
        start + static_cast<std::int64_t>(k + 1) * length / static_cast<std::int64_t>(parts);
    double power = 0.0;
    for (const std::vector<float>& channel : channels) {
      for (std::int64_t i = from; i < to; ++i) {
        const double x = channel[static_cast<std::size_t>(i)];
        power += x * x;
      }
    }
    levels_db.at(k) = plain_db(std::max(power / static_cast<double>(to - from), least_power));
  }
  return drifts(levels_db, seconds) ? to_hundredths(line_through(levels_db).slope) : 0.0;
}

/// An octave's levels by parts of a loop: over the channels in which it sounds, else over all.
struct Octave {
  Parts levels_db{};
  bool sounds = false;
};

std::vector<Octave> octaves_of(const Levels& levels, std::size_t channels,
                               const FrameRange& range) {
  const std::size_t bands = levels.columns.size() / channels;
  if (bands <= first_octave) return {};
  const std::int64_t first = range.start.value() / levels.step_frames;
  const std::int64_t steps =
      std::min(range.length().value() / levels.step_frames, levels.steps - first);
  if (steps < static_cast<std::int64_t>(parts)) return {};
  const auto mean = [&](std::size_t channel, std::size_t octave, std::int64_t from,
                        std::int64_t to) {
    return levels.mean(channel * bands + first_octave + octave, first + from, first + to);
  };
  std::vector<Octave> octaves(std::min(most_octaves, bands - first_octave));
  std::vector<double> strongest_db(channels);
  for (std::size_t c = 0; c < channels; ++c) {
    strongest_db[c] = mean(c, 0, 0, steps);
    for (std::size_t o = 1; o < octaves.size(); ++o)
      strongest_db[c] = std::max(strongest_db[c], mean(c, o, 0, steps));
  }
  for (std::size_t o = 0; o < octaves.size(); ++o) {
    std::vector<std::size_t> heard;
    std::vector<std::size_t> all;
    for (std::size_t c = 0; c < channels; ++c) {
      if (mean(c, o, 0, steps) >= strongest_db[c] - sounding_db) heard.push_back(c);
      all.push_back(c);
    }
    octaves[o].sounds = !heard.empty();
    const std::vector<std::size_t>& counted = heard.empty() ? all : heard;
    for (std::size_t k = 0; k < parts; ++k) {
      const auto at = static_cast<std::int64_t>(k);
      constexpr auto count = static_cast<std::int64_t>(parts);
      for (const std::size_t c : counted) {
        octaves[o].levels_db.at(k) += mean(c, o, at * steps / count, (at + 1) * steps / count) /
                                      static_cast<double>(counted.size());
      }
    }
  }
  return octaves;
}

Parts mean_of(const std::vector<const Octave*>& octaves, std::size_t from, std::size_t to) {
  Parts out{};
  for (std::size_t o = from; o < to; ++o) {
    for (std::size_t k = 0; k < parts; ++k)
      out.at(k) += octaves[o]->levels_db.at(k) / static_cast<double>(to - from);
  }
  return out;
}

/// The drift octave by octave, where the tone drifts.
LoopDrift tone_drift(const std::vector<Octave>& octaves, double seconds) {
  std::vector<const Octave*> sounding;
  for (const Octave& octave : octaves) {
    if (octave.sounds) sounding.push_back(&octave);
  }
  if (sounding.size() < 2) return {};
  const std::size_t half = sounding.size() / 2;
  Parts balance = mean_of(sounding, sounding.size() - half, sounding.size());
  const Parts low = mean_of(sounding, 0, half);
  for (std::size_t k = 0; k < parts; ++k)
    balance.at(k) -= low.at(k);
  if (!drifts(balance, seconds)) return {};
  const double level_db = to_hundredths(line_through(mean_of(sounding, 0, sounding.size())).slope);
  std::vector<double> octaves_db;
  for (const Octave& octave : octaves) {
    double own_db = line_through(octave.levels_db).slope;
    if (!slow(own_db, seconds) || !slow(own_db - level_db, seconds)) {
      if (octave.sounds) return {};
      own_db = level_db;  // what is not heard goes with the rest
    }
    octaves_db.push_back(to_hundredths(own_db - level_db));
  }
  return {level_db, std::move(octaves_db)};
}

}  // namespace

LoopDrift loop_drift(const std::vector<std::vector<float>>& channels, const Levels& levels,
                     const FrameRange& range, double sample_rate_hz) {
  if (range.length().value() < static_cast<std::int64_t>(parts)) return {};
  const double seconds = static_cast<double>(range.length().value()) / sample_rate_hz;
  LoopDrift drift = tone_drift(octaves_of(levels, channels.size(), range), seconds);
  if (drift.octaves_db.empty()) drift.level_db = level_drift_db(channels, range, seconds);
  return drift;
}

}  // namespace fourbeat::dsp
