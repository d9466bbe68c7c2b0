// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_drift.h"

#include "octave_ramp.h"
#include "plain_log.h"
#include "sixteenths.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>

namespace fourbeat::dsp {

namespace {

constexpr double least_power = 1e-10;  // -100 dBFS
constexpr double least_drift_db = 0.5;
/// What loses half its power within a second dies away: that is an event, not a drift.
constexpr double most_db_a_second = 3.0;
constexpr std::size_t first_octave = 1;  // of the bands of Levels: the one below 200 Hz is left out

/// What is left about the best step: one level before some part, another after it; in that part the
/// step may lie anywhere.
double rest_about_step(const Sixteenths& values) {
  double least = sum_of_squares(values, 0, sixteenths);
  for (std::size_t k = 1; k + 1 < sixteenths; ++k)
    least =
        std::min(least, sum_of_squares(values, 0, k) + sum_of_squares(values, k + 1, sixteenths));
  return least;
}

bool slow(double drift_db, double seconds) {
  return std::abs(drift_db) <= std::min(most_drift_db, most_db_a_second * seconds);
}

bool drifts(const Sixteenths& values, double seconds, double errors = least_errors) {
  const Line line = line_through(values);
  const double size_db = std::abs(line.slope);
  // Slow even where chance hides as much of it as it may.
  return size_db >= least_drift_db && slow(size_db + 2.0 * line.error, seconds) &&
         size_db >= errors * line.error && line.rest <= rest_about_step(values);
}

double to_hundredths(double db) {
  return std::round(db * 100.0) / 100.0;
}

double level_drift_db(const std::vector<std::vector<float>>& channels, const FrameRange& range,
                      double seconds) {
  const std::int64_t start = range.start.value();
  const std::int64_t length = range.length().value();
  Sixteenths levels_db{};
  for (std::size_t k = 0; k < sixteenths; ++k) {
    const std::int64_t from =
        start + static_cast<std::int64_t>(k) * length / static_cast<std::int64_t>(sixteenths);
    const std::int64_t to =
        start + static_cast<std::int64_t>(k + 1) * length / static_cast<std::int64_t>(sixteenths);
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
  Sixteenths levels_db{};
  bool sounds = false;
};

std::vector<Octave> octaves_of(const Levels& levels, std::size_t channels,
                               const FrameRange& range) {
  const std::size_t bands = levels.columns.size() / channels;
  if (bands <= first_octave) return {};
  const std::int64_t first = range.start.value() / levels.step_frames;
  const std::int64_t steps =
      std::min(range.length().value() / levels.step_frames, levels.steps - first);
  if (steps < static_cast<std::int64_t>(sixteenths)) return {};
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
    for (std::size_t k = 0; k < sixteenths; ++k) {
      const auto at = static_cast<std::int64_t>(k);
      constexpr auto count = static_cast<std::int64_t>(sixteenths);
      for (const std::size_t c : counted) {
        octaves[o].levels_db.at(k) += mean(c, o, at * steps / count, (at + 1) * steps / count) /
                                      static_cast<double>(counted.size());
      }
    }
  }
  return octaves;
}

Sixteenths mean_of(const std::vector<const Octave*>& octaves, std::size_t from, std::size_t to) {
  Sixteenths out{};
  for (std::size_t o = from; o < to; ++o) {
    for (std::size_t k = 0; k < sixteenths; ++k)
      out.at(k) += octaves[o]->levels_db.at(k) / static_cast<double>(to - from);
  }
  return out;
}

/// Whether the upper half of the octaves drifts against the lower, or one against the others.
bool balance_drifts(const std::vector<const Octave*>& sounding, double seconds) {
  const std::size_t half = sounding.size() / 2;
  const Sixteenths high = mean_of(sounding, sounding.size() - half, sounding.size());
  if (drifts(less(high, mean_of(sounding, 0, half)), seconds)) return true;
  if (sounding.size() < 3) return false;
  const Sixteenths whole = mean_of(sounding, 0, sounding.size());
  return std::any_of(sounding.begin(), sounding.end(), [&](const Octave* octave) {
    return drifts(less(octave->levels_db, whole), seconds, least_octave_errors);
  });
}

/// The drift octave by octave, where the tone drifts.
LoopDrift tone_drift(const std::vector<Octave>& octaves, double seconds) {
  std::vector<const Octave*> sounding;
  for (const Octave& octave : octaves) {
    if (octave.sounds) sounding.push_back(&octave);
  }
  if (sounding.size() < 2) return {};
  if (!balance_drifts(sounding, seconds)) return {};
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
  if (range.length().value() < static_cast<std::int64_t>(sixteenths)) return {};
  const double seconds = static_cast<double>(range.length().value()) / sample_rate_hz;
  LoopDrift drift = tone_drift(octaves_of(levels, channels.size(), range), seconds);
  if (drift.octaves_db.empty()) drift.level_db = level_drift_db(channels, range, seconds);
  return drift;
}

}  // namespace fourbeat::dsp
