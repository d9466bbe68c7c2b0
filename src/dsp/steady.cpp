// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/steady.h"

#include "loop_levels.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::dsp {

namespace {

constexpr double alike_db = 4.0;
constexpr double event_db = 10.0;
constexpr std::int64_t around_steps = 50;  // half a second to either side
constexpr std::int64_t least_steps = 100;

/// What the pattern is like, a band each.
struct Pattern {
  std::vector<double> mean_db;
  std::vector<double> loudest_db;  ///< over 50 ms
};

double over_50_ms(const Levels& levels, std::size_t column, std::int64_t step) {
  return levels.mean(column, std::max<std::int64_t>(0, step - 2), std::min(levels.steps, step + 3));
}

Pattern pattern_of(const Levels& levels, std::int64_t from, std::int64_t to) {
  Pattern pattern;
  for (std::size_t c = 0; c < levels.columns.size(); ++c) {
    pattern.mean_db.push_back(levels.mean(c, from, to));
    double loudest = over_50_ms(levels, c, from);
    for (std::int64_t s = from; s < to; ++s)
      loudest = std::max(loudest, over_50_ms(levels, c, s));
    pattern.loudest_db.push_back(loudest);
  }
  return pattern;
}

bool alike(const Levels& levels, const Pattern& pattern, std::int64_t step) {
  const std::int64_t from = std::max<std::int64_t>(0, step - around_steps);
  const std::int64_t to = std::min(levels.steps, step + around_steps + 1);
  double sum = 0.0;
  for (std::size_t c = 0; c < levels.columns.size(); ++c) {
    if (over_50_ms(levels, c, step) > pattern.loudest_db[c] + event_db) return false;
    const double off = levels.mean(c, from, to) - pattern.mean_db[c];
    sum += off * off;
  }
  return sum <= alike_db * alike_db * static_cast<double>(levels.columns.size());
}

}  // namespace

Result<std::vector<FrameRange>> stretches_like(const audio::Pcm& material,
                                               const FrameRange& pattern, JobControl& job) {
  const std::int64_t frames = material.frames().value();
  if (pattern.empty() || pattern.start.value() < 0 || pattern.end.value() > frames)
    return Error{ErrorCode::bad_argument, "", "pattern", "it does not lie in the material", ""};
  for (const std::vector<float>& channel : material.channels) {
    if (static_cast<std::int64_t>(channel.size()) != frames)
      return Error{ErrorCode::bad_argument, "", "channels", "they are not equally long", ""};
  }
  const Result<Levels> levels = levels_of(material.channels, material.sample_rate_hz, job);
  if (!levels) return levels.error();
  std::vector<FrameRange> found;
  if (levels->columns.empty()) return found;
  const std::int64_t step = levels->step_frames;
  const std::int64_t first = pattern.start.value() / step;
  const std::int64_t last = std::min(levels->steps, pattern.end.value() / step + 1);
  const Pattern wanted = pattern_of(*levels, first, last);
  std::int64_t from = 0;
  for (std::int64_t s = 0; s <= levels->steps; ++s) {
    if (s < levels->steps && alike(*levels, wanted, s)) continue;
    if (s - from >= least_steps)
      found.push_back(frame_range(from * step, std::min(frames, s * step)));
    from = s + 1;
  }
  std::stable_sort(found.begin(), found.end(), [](const FrameRange& a, const FrameRange& b) {
    return a.length() > b.length();
  });
  return found;
}

}  // namespace fourbeat::dsp
