// SPDX-License-Identifier: GPL-3.0-or-later
#include "seam_measures.h"

#include "band_powers.h"
#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

namespace fourbeat::dsp {

namespace {

constexpr std::int64_t half_second_hops = 100;
constexpr double inaudible_share = 1e-6;  // 60 dB under the strongest band
constexpr std::size_t thirds_an_octave = 3;
constexpr std::size_t pattern_bands = 4;

/// The endless loop laid out from `origin` (frames from the wrap), as long as the windows need.
struct Stream {
  std::int64_t origin = 0;
  std::vector<float> samples;
};

Stream unroll(const std::vector<float>& loop, std::int64_t origin, std::int64_t end) {
  const auto length = static_cast<std::int64_t>(loop.size());
  Stream stream{origin, std::vector<float>(static_cast<std::size_t>(end - origin))};
  std::int64_t from = ((origin % length) + length) % length;
  for (std::size_t done = 0; done < stream.samples.size();) {
    const std::size_t run =
        std::min(stream.samples.size() - done, static_cast<std::size_t>(length - from));
    std::copy_n(loop.begin() + from, run,
                stream.samples.begin() + static_cast<std::ptrdiff_t>(done));
    done += run;
    from = 0;
  }
  return stream;
}

/// 60 dB under the strongest band's mean.
double floor_of(std::span<const float> powers, std::size_t bands) {
  double strongest = 0.0;
  const std::size_t rows = bands == 0 ? 0 : powers.size() / bands;
  for (std::size_t band = 0; band < bands; ++band) {
    double sum = 0.0;
    for (std::size_t i = band; i < powers.size(); i += bands)
      sum += powers[i];
    strongest = std::max(strongest, sum / static_cast<double>(std::max<std::size_t>(1, rows)));
  }
  return std::max(least_band_power, strongest * inaudible_share);
}

/// Levels of bands in frames on the grid; row r belongs to the frame that starts at hop first + r.
struct LevelRows {
  std::int64_t first = 0;
  std::size_t bands = 0;
  std::vector<float> levels_db;
};

/// Octave levels of 100 ms frames of the low stream; lows under `floor` are not heard.
Result<LevelRows> low_rows(const HopRows& hops, const SeamGrid& grid, std::int64_t count,
                           double floor, JobControl& job) {
  const double step_frames =
      static_cast<double>(grid.hop_frames) / static_cast<double>(low_steps_a_hop);
  const std::vector<Band> bands = octaves_below_250_hz();
  constexpr std::size_t size = low_hops * low_steps_a_hop;
  BandPowers meter(size, grid.sample_rate_hz / step_frames, bands);
  std::vector<float> powers(static_cast<std::size_t>(count) * bands.size());
  std::vector<float> frame(size);
  for (std::size_t r = 0; r < static_cast<std::size_t>(count); ++r) {
    if (r % 1024 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    centre(audio::MonoView(hops.low).subspan(r * low_steps_a_hop, size), frame);
    meter.measure(frame, std::span(powers).subspan(r * bands.size(), bands.size()));
  }
  floor = std::max(floor, floor_of(powers, bands.size()));
  LevelRows rows{hops.first, bands.size(), std::vector<float>(powers.size())};
  std::transform(powers.begin(), powers.end(), rows.levels_db.begin(), [&](float power) {
    return static_cast<float>(plain_db(std::max<double>(power, floor)));
  });
  return rows;
}

/// Third-octave levels of 20 ms frames, none under `floor`.
LevelRows fine_levels(const HopRows& hops, double floor) {
  LevelRows rows{hops.first, hops.bands, hops.fine_db};
  const auto least = static_cast<float>(plain_db(floor));
  for (float& level : rows.levels_db)
    level = std::max(level, least);
  return rows;
}

/// Root mean square over the bands of the difference between frames `apart` hops apart.
std::vector<float> adjacent_distance(const LevelRows& rows, const SeamGrid& grid,
                                     std::int64_t apart) {
  const std::vector<float>& levels = rows.levels_db;
  std::vector<float> out(static_cast<std::size_t>(grid.points()), 0.0F);
  if (rows.bands == 0) return out;
  for (std::size_t p = 0; p < out.size(); ++p) {
    const auto after =
        static_cast<std::size_t>(grid.seam_first + static_cast<std::int64_t>(p) - rows.first);
    const std::size_t before = after - static_cast<std::size_t>(apart);
    double sum = 0.0;
    for (std::size_t band = 0; band < rows.bands; ++band) {
      const double d = levels[after * rows.bands + band] - levels[before * rows.bands + band];
      sum += d * d;
    }
    out[p] = static_cast<float>(std::sqrt(sum / static_cast<double>(rows.bands)));
  }
  return out;
}

/// |level after - level before| over `window` hops, from the powers of hops.
std::vector<float> level_step(std::span<const double> power_before, std::int64_t first,
                              const SeamGrid& grid, std::int64_t window, double floor) {
  const auto points = static_cast<std::size_t>(grid.points());
  const auto w = static_cast<std::size_t>(window);
  const auto span = static_cast<double>(window * grid.hop_frames);
  // levels[i]: of the window that starts w hops before the first point, i hops on.
  const auto lead = static_cast<std::size_t>(grid.seam_first - first) - w;
  std::vector<double> levels(points + w);
  for (std::size_t i = 0; i < levels.size(); ++i) {
    const double power = (power_before[lead + i + w] - power_before[lead + i]) / span;
    levels[i] = plain_db(std::max(power, floor));
  }
  std::vector<float> out(points);
  for (std::size_t p = 0; p < points; ++p)
    out[p] = static_cast<float>(std::abs(levels[p + w] - levels[p]));
  return out;
}

/// Sums of powers of third octaves by octaves, running: sums[(row + 1) × octaves + octave].
struct OctaveSums {
  std::int64_t first = 0;
  std::size_t octaves = 0;
  std::vector<double> sums;
  [[nodiscard]] double mean(std::int64_t from_hop, std::int64_t to_hop, std::size_t octave) const {
    const auto a = static_cast<std::size_t>(from_hop - first);
    const auto b = static_cast<std::size_t>(to_hop - first);
    return (sums[b * octaves + octave] - sums[a * octaves + octave]) / static_cast<double>(b - a);
  }
};

OctaveSums sum_octaves(const HopRows& rows) {
  const std::size_t octaves = (rows.bands + thirds_an_octave - 1) / thirds_an_octave;
  const auto count = static_cast<std::size_t>(rows.count());
  OctaveSums out{rows.first, octaves, std::vector<double>((count + 1) * octaves, 0.0)};
  for (std::size_t r = 0; r < count; ++r) {
    for (std::size_t o = 0; o < octaves; ++o)
      out.sums[(r + 1) * octaves + o] = out.sums[r * octaves + o];
    for (std::size_t band = 0; band < rows.bands; ++band)
      out.sums[(r + 1) * octaves + band / thirds_an_octave] += rows.fine[r * rows.bands + band];
  }
  return out;
}

std::vector<float> colour_step(const OctaveSums& octaves, const SeamGrid& grid, double floor) {
  const auto points = static_cast<std::size_t>(grid.points());
  std::vector<float> out(points, 0.0F);
  if (octaves.octaves == 0) return out;
  constexpr auto reach = static_cast<std::size_t>(half_second_hops);
  // Levels of the half second from each point and from half a second before the first.
  std::vector<float> levels((points + reach) * octaves.octaves);
  for (std::size_t i = 0; i < points + reach; ++i) {
    const std::int64_t at = grid.seam_first - half_second_hops + static_cast<std::int64_t>(i);
    for (std::size_t o = 0; o < octaves.octaves; ++o) {
      levels[i * octaves.octaves + o] = static_cast<float>(
          plain_db(std::max(octaves.mean(at, at + half_second_hops - fine_hops + 1, o), floor)));
    }
  }
  for (std::size_t p = 0; p < points; ++p) {
    double sum = 0.0;
    for (std::size_t o = 0; o < octaves.octaves; ++o) {
      const double d = levels[(p + reach) * octaves.octaves + o] - levels[p * octaves.octaves + o];
      sum += d * d;
    }
    out[p] = static_cast<float>(std::sqrt(sum / static_cast<double>(octaves.octaves)));
  }
  return out;
}

/// Appends one channel's four broad levels a 10 ms to the columns of the rhythm's patterns.
void add_pattern_bands(const HopRows& rows, double floor,
                       std::vector<std::vector<float>>& columns) {
  const std::size_t count = static_cast<std::size_t>(rows.count() + 1) / 2;
  const std::size_t groups = std::min(pattern_bands, rows.bands);
  for (std::size_t g = 0; g < groups; ++g) {
    const std::size_t from = g * rows.bands / groups;
    const std::size_t to = (g + 1) * rows.bands / groups;
    std::vector<float> column(count);
    for (std::size_t c = 0; c < count; ++c) {
      double power = 0.0;
      for (std::size_t band = from; band < to; ++band)
        power += rows.fine[2 * c * rows.bands + band];
      column[c] = static_cast<float>(plain_db(std::max(power, floor)));
    }
    columns.push_back(std::move(column));
  }
}

/// Distance of the half second around each point from the most similar half second of the
/// interior that does not overlap it. Sums run along the diagonals of the distance matrix, so
/// that all pairs cost one step each.
Status rhythm_series(const std::vector<std::vector<float>>& columns, std::int64_t first,
                     const SeamGrid& grid, const InteriorSpan& interior, std::vector<float>& out,
                     JobControl& job) {
  constexpr std::int64_t width = half_second_hops / 2;  // columns, 10 ms each
  const auto points = grid.points();
  // Pattern of point p (even steps from the first): columns from (point hop - 50 - first) / 2.
  const std::int64_t lead = (grid.seam_first - first - half_second_hops / 2) / 2;
  const std::int64_t patterns = (points + 1) / 2;
  const std::int64_t inner_first = (interior.first + 1) / 2;
  const std::int64_t inner_last = interior.last / 2;
  std::vector<float> nearest(static_cast<std::size_t>(patterns), std::numeric_limits<float>::max());
  const auto is_inner = [&](std::int64_t i) { return i >= inner_first && i <= inner_last; };
  std::vector<float> squares(static_cast<std::size_t>(patterns + width));
  for (std::int64_t lag = width; lag < patterns; ++lag) {
    if (lag % 64 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    const std::int64_t count = patterns - lag + width - 1;
    std::fill_n(squares.begin(), count, 0.0F);
    for (const std::vector<float>& column : columns) {
      const float* a = column.data() + lead;
      const float* b = a + lag;
      for (std::int64_t i = 0; i < count; ++i) {
        const float d = a[i] - b[i];
        squares[static_cast<std::size_t>(i)] += d * d;
      }
    }
    double sum = 0.0;
    for (std::int64_t i = 0; i < width; ++i)
      sum += squares[static_cast<std::size_t>(i)];
    for (std::int64_t i = 0; i + lag < patterns; ++i) {
      const auto here = static_cast<std::size_t>(i);
      const auto there = static_cast<std::size_t>(i + lag);
      const auto value = static_cast<float>(std::max(0.0, sum));
      if (is_inner(i + lag)) nearest[here] = std::min(nearest[here], value);
      if (is_inner(i)) nearest[there] = std::min(nearest[there], value);
      sum += static_cast<double>(squares[here + static_cast<std::size_t>(width)]) - squares[here];
    }
  }
  const double scale = 1.0 / static_cast<double>(width) /
                       static_cast<double>(std::max<std::size_t>(1, columns.size()));
  out.assign(static_cast<std::size_t>(points), 0.0F);
  for (std::size_t p = 0; p < out.size(); ++p) {
    const float square = nearest[p / 2];
    if (square < std::numeric_limits<float>::max())
      out[p] = static_cast<float>(std::sqrt(square * scale));
  }
  return ok();
}

/// Where the rows must start and end so that every window fits.
struct Reach {
  std::int64_t first = 0;
  std::int64_t count = 0;
};

Reach reach_of(const SeamGrid& grid, const std::array<bool, measure_count>& wanted) {
  std::int64_t reach = 2 * tell_frames;
  for (std::size_t m = 0; m < measure_count; ++m) {
    if (wanted[m]) reach = std::max(reach, measure_kinds[m].window_hops);
  }
  reach += 2 + reach % 2;  // even: the rhythm has a column every second hop
  return {grid.seam_first - reach, grid.points() + 2 * reach};
}

/// A channel's mean, its power without it, and the level under which nothing is heard.
struct LevelFloor {
  double mean = 0.0;
  double power = 0.0;
  double floor = 0.0;
};

LevelFloor level_floor(const std::vector<float>& loop) {
  LevelFloor out;
  for (const float x : loop)
    out.mean += x;
  out.mean /= static_cast<double>(loop.size());
  for (const float x : loop)
    out.power += (x - out.mean) * (x - out.mean);
  out.power /= static_cast<double>(loop.size());
  out.floor = std::max(least_band_power, out.power * inaudible_share);
  return out;
}

/// before[i]: power of the first i hops, the loop's mean removed.
std::vector<double> powers_before(const HopRows& hops, double mean, std::int64_t hop_frames) {
  std::vector<double> before(hops.sum.size() + 1, 0.0);
  const double constant = mean * mean * static_cast<double>(hop_frames);
  for (std::size_t h = 0; h < hops.sum.size(); ++h) {
    const double power = hops.square[h] - 2.0 * mean * hops.sum[h] + constant;
    before[h + 1] = before[h] + std::max(0.0, power);
  }
  return before;
}

/// The hops of one channel of the endless loop, those of its material taken from there.
Result<HopRows> hops_of(const std::vector<float>& loop, std::size_t channel, const SeamGrid& grid,
                        std::int64_t first, std::int64_t count, const KnownHops& known,
                        JobControl& job) {
  HopRows rows(grid.sample_rate_hz, first, count);
  const std::int64_t end = first + count;
  const Stream stream =
      unroll(loop, (first - 1) * grid.hop_frames, (end + fine_hops) * grid.hop_frames);
  const auto fresh = [&](std::int64_t from, std::int64_t to) {
    return measure_hops(stream.samples, stream.origin, grid.sample_rate_hz, from, to, rows, job);
  };
  const std::int64_t known_first = std::max(first, known.first);
  const std::int64_t known_end = std::min(end, known.end);
  if (known.material == nullptr || known_first >= known_end) {
    if (Status measured = fresh(first, end); !measured) return measured.error();
    return rows;
  }
  if (Status measured = fresh(first, known_first); !measured) return measured.error();
  if (Status measured = fresh(known_end, end); !measured) return measured.error();
  const Result<const HopRows*> there =
      known.material->rows(channel, known.shift + known_first, known.shift + known_end, job);
  if (!there) return there.error();
  rows.copy(**there, known.shift + known_first, known_first, known_end - known_first);
  return rows;
}

}  // namespace

Result<SeamSeries> measure_points(const std::vector<std::vector<float>>& loop, const SeamGrid& grid,
                                  const std::array<bool, measure_count>& wanted,
                                  const InteriorSpan& interior, const KnownHops& known,
                                  JobControl& job) {
  SeamSeries series;
  const auto points = static_cast<std::size_t>(grid.points());
  const Reach reach = reach_of(grid, wanted);
  const std::int64_t rows = reach.count;
  series.level_db.assign(points, 0.0F);
  std::vector<std::vector<float>> columns;
  for (std::size_t c = 0; c < loop.size(); ++c) {
    std::array<std::vector<float>, measure_count> values;
    const Result<HopRows> measured =
        hops_of(loop[c], c, grid, reach.first, rows + low_hops, known, job);
    if (!measured) return measured.error();
    const HopRows& hops = *measured;
    const LevelFloor level = level_floor(loop[c]);
    series.channel_rms.push_back(std::sqrt(level.power));

    const auto lead = static_cast<std::ptrdiff_t>(grid.seam_first - reach.first);
    const auto last = lead + static_cast<std::ptrdiff_t>(points);
    values[sample_step].assign(hops.step.begin() + lead, hops.step.begin() + last);
    values[slope_step].assign(hops.slope.begin() + lead, hops.slope.begin() + last);

    const std::vector<double> power_before = powers_before(hops, level.mean, grid.hop_frames);
    for (const MeasureIndex m : {rms_50ms, rms_500ms}) {
      if (wanted[m]) {
        values[m] =
            level_step(power_before, reach.first, grid, measure_kinds[m].window_hops, level.floor);
      }
    }
    for (std::size_t p = 0; p < points; ++p) {
      const auto r = static_cast<std::size_t>(lead) + p;
      const double power =
          (power_before[r + 2] - power_before[r - 2]) / static_cast<double>(4 * grid.hop_frames);
      series.level_db[p] += static_cast<float>(plain_db(std::max(power, level.floor)) /
                                               static_cast<double>(loop.size()));
    }

    const double floor = floor_of(hops.fine, hops.bands);
    if (wanted[spectrum_fine])
      values[spectrum_fine] = adjacent_distance(fine_levels(hops, floor), grid, fine_hops);
    const OctaveSums octaves = sum_octaves(hops);
    if (wanted[colour_500ms]) values[colour_500ms] = colour_step(octaves, grid, floor);
    if (wanted[rhythm]) add_pattern_bands(hops, floor, columns);
    series.octaves = octaves.octaves;
    std::vector<float> levels(points * octaves.octaves);
    for (std::size_t p = 0; p < points; ++p) {
      const std::int64_t at = grid.seam_first + static_cast<std::int64_t>(p);
      for (std::size_t o = 0; o < octaves.octaves; ++o) {
        levels[p * octaves.octaves + o] =
            static_cast<float>(plain_db(std::max(octaves.mean(at, at + tell_frames, o), floor)));
      }
    }
    series.octave_db.push_back(std::move(levels));

    if (wanted[spectrum_low]) {
      Result<LevelRows> low = low_rows(hops, grid, rows, level.floor, job);
      if (!low) return low.error();
      values[spectrum_low] = adjacent_distance(*low, grid, low_hops);
    }
    series.values.push_back(std::move(values));
  }
  if (wanted[rhythm] && !series.values.empty()) {
    if (Status done =
            rhythm_series(columns, reach.first, grid, interior, series.values[0][rhythm], job);
        !done)
      return done.error();
  }
  return series;
}

}  // namespace fourbeat::dsp
