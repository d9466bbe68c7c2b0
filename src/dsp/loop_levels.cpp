// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_levels.h"

#include "band_powers.h"
#include "hop_rows.h"
#include "plain_log.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>
#include <span>

namespace fourbeat::dsp {

namespace {

constexpr std::int64_t step_hops = 2;
constexpr double inaudible_share = 1e-6;  // 60 dB under the strongest band
constexpr std::array<double, 8> band_edges_hz = {50.0,   200.0,  500.0,  1000.0,
                                                 2000.0, 4000.0, 8000.0, 16000.0};

std::vector<Band> bands_of(double rate_hz) {
  std::vector<Band> bands;
  for (std::size_t i = 0; i + 1 < band_edges_hz.size(); ++i) {
    if (band_edges_hz[i] * 1.5 > 0.45 * rate_hz) break;
    bands.push_back({band_edges_hz[i], std::min(band_edges_hz[i + 1], 0.45 * rate_hz)});
  }
  return bands;
}

Status add_columns(const std::vector<float>& channel, double rate_hz, Levels& levels,
                   JobControl& job) {
  const std::vector<Band> bands = bands_of(rate_hz);
  const std::int64_t size = 2 * levels.step_frames;
  BandPowers meter(static_cast<std::size_t>(size), rate_hz, bands);
  const auto steps = static_cast<std::size_t>(levels.steps);
  std::vector<float> powers(steps * bands.size());
  std::vector<float> frame(static_cast<std::size_t>(size));
  const auto length = static_cast<std::int64_t>(channel.size());
  for (std::size_t s = 0; s < steps; ++s) {
    if (s % 256 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    // The frame is centred on its step; beyond the material's ends it is silent.
    const std::int64_t from = (static_cast<std::int64_t>(s) - 1) * levels.step_frames;
    for (std::int64_t i = 0; i < size; ++i) {
      const bool inside = from + i >= 0 && from + i < length;
      frame[static_cast<std::size_t>(i)] =
          inside ? channel[static_cast<std::size_t>(from + i)] : 0.0F;
    }
    meter.measure(frame, std::span(powers).subspan(s * bands.size(), bands.size()));
  }
  double strongest = 0.0;
  for (std::size_t b = 0; b < bands.size(); ++b) {
    double sum = 0.0;
    for (std::size_t s = 0; s < steps; ++s)
      sum += powers[s * bands.size() + b];
    strongest = std::max(strongest, sum / static_cast<double>(steps));
  }
  const double floor = std::max(least_band_power, strongest * inaudible_share);
  for (std::size_t b = 0; b < bands.size(); ++b) {
    std::vector<float> column(steps);
    std::vector<double> sums(steps + 1, 0.0);
    for (std::size_t s = 0; s < steps; ++s) {
      const double power = std::max<double>(powers[s * bands.size() + b], floor);
      column[s] = static_cast<float>(plain_db(power));
      sums[s + 1] = sums[s] + column[s];
    }
    levels.columns.push_back(std::move(column));
    levels.sums.push_back(std::move(sums));
  }
  return ok();
}

float median(std::vector<float> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

void add_events(Levels& levels) {
  const auto steps = static_cast<std::size_t>(levels.steps);
  const std::size_t columns = levels.columns.size();
  std::vector<float> rise(steps, 0.0F);
  levels.event_db.assign(steps, 0.0F);
  for (std::int64_t s = 0; s < levels.steps; ++s) {
    const std::int64_t from = std::max<std::int64_t>(0, s - 3);
    const std::int64_t to = std::min(levels.steps, s + 3);
    if (from == s || to == s) continue;
    double sum = 0.0;
    for (std::size_t c = 0; c < columns; ++c)
      sum += levels.mean(c, s, to) - levels.mean(c, from, s);
    rise[static_cast<std::size_t>(s)] =
        static_cast<float>(std::max(0.0, sum / static_cast<double>(columns)));
  }
  levels.rise_db = rise;
  for (std::size_t s = 0; s < steps; ++s) {
    for (std::size_t i = s >= 3 ? s - 3 : 0; i < std::min(steps, s + 4); ++i)
      levels.rise_db[s] = std::max(levels.rise_db[s], rise[i]);
  }
  for (std::size_t c = 0; c < columns; ++c) {
    const float typical = median(levels.columns[c]);
    for (std::int64_t s = 0; s < levels.steps; ++s) {
      const std::int64_t from = std::max<std::int64_t>(0, s - 2);
      const std::int64_t to = std::min(levels.steps, s + 3);
      float& event = levels.event_db[static_cast<std::size_t>(s)];
      event = std::max(event, static_cast<float>(levels.mean(c, from, to) - typical));
    }
  }
}

}  // namespace

Result<Levels> levels_of(const std::vector<std::vector<float>>& channels, double sample_rate_hz,
                         JobControl& job) {
  Levels levels;
  levels.step_frames = step_hops * hop_frames_of(sample_rate_hz);
  levels.steps = static_cast<std::int64_t>(channels.front().size()) / levels.step_frames + 1;
  for (const std::vector<float>& channel : channels) {
    if (Status added = add_columns(channel, sample_rate_hz, levels, job); !added)
      return added.error();
  }
  add_events(levels);
  return levels;
}

std::optional<OneOff> one_off_event(const Levels& levels) {
  constexpr double least_db = 10.0;
  constexpr double apart_db = 4.0;
  constexpr std::int64_t apart_steps = 50;
  const std::vector<float>& event = levels.event_db;
  if (event.empty()) return std::nullopt;
  const auto loudest = std::max_element(event.begin(), event.end());
  const double most_db = *loudest;
  if (most_db < least_db) return std::nullopt;
  const std::int64_t at = loudest - event.begin();
  for (std::int64_t s = 0; s < levels.steps; ++s) {
    if (std::abs(s - at) >= apart_steps &&
        static_cast<double>(event[static_cast<std::size_t>(s)]) > most_db - apart_db)
      return std::nullopt;
  }
  return OneOff{at, most_db};
}

}  // namespace fourbeat::dsp
