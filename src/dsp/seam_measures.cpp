// SPDX-License-Identifier: GPL-3.0-or-later
#include "seam_measures.h"

#include "band_powers.h"
#include "plain_log.h"
#include "thin.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <span>

namespace fourbeat::dsp {

namespace {

constexpr std::int64_t fine_hops = 4;        // 20 ms frames
constexpr std::int64_t low_hops = 20;        // 100 ms frames
constexpr std::int64_t low_steps_a_hop = 5;  // the low stream runs at about 1 kHz
constexpr std::int64_t half_second_hops = 100;
constexpr std::int64_t tell_frames = 7;   // 20 ms frames at 5 ms: 50 ms
constexpr double least_power = 1e-11;     // -110 dBFS
constexpr double inaudible_share = 1e-6;  // 60 dB under the strongest band
constexpr std::size_t thirds_an_octave = 3;
constexpr std::size_t pattern_bands = 4;

/// The endless loop laid out from `origin` (frames from the wrap), as long as the windows need.
struct Stream {
  std::int64_t origin = 0;
  std::vector<float> samples;
  [[nodiscard]] float at(std::int64_t frame) const {
    return samples[static_cast<std::size_t>(frame - origin)];
  }
  [[nodiscard]] audio::MonoView view(std::int64_t frame, std::int64_t count) const {
    return audio::MonoView(samples).subspan(static_cast<std::size_t>(frame - origin),
                                            static_cast<std::size_t>(count));
  }
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

/// Band powers of frames on the grid; row r belongs to the frame that starts at hop first + r.
struct PowerRows {
  std::int64_t first = 0;
  std::size_t bands = 0;
  std::vector<float> powers;
  double floor = least_power;
  [[nodiscard]] std::size_t rows() const { return bands == 0 ? 0 : powers.size() / bands; }
  [[nodiscard]] std::span<const float> row(std::int64_t hop) const {
    return std::span(powers).subspan(static_cast<std::size_t>(hop - first) * bands, bands);
  }
  /// 60 dB under the strongest band's mean.
  void set_floor() {
    double strongest = 0.0;
    for (std::size_t band = 0; band < bands; ++band) {
      double sum = 0.0;
      for (std::size_t i = band; i < powers.size(); i += bands)
        sum += powers[i];
      strongest = std::max(strongest, sum / static_cast<double>(std::max<std::size_t>(1, rows())));
    }
    floor = std::max(least_power, strongest * inaudible_share);
  }
  /// In place, as dB over the floor's clip.
  [[nodiscard]] std::vector<float> levels_db() const {
    std::vector<float> out(powers.size());
    std::transform(powers.begin(), powers.end(), out.begin(), [&](float power) {
      return static_cast<float>(plain_db(std::max<double>(power, floor)));
    });
    return out;
  }
};

Result<PowerRows> fine_rows(const Stream& stream, const SeamGrid& grid, std::int64_t first,
                            std::int64_t count, JobControl& job) {
  const std::vector<Band> bands = third_octaves_from_250_hz(grid.sample_rate_hz);
  const std::int64_t size = fine_hops * grid.hop_frames;
  BandPowers meter(static_cast<std::size_t>(size), grid.sample_rate_hz, bands);
  PowerRows rows{first, bands.size(),
                 std::vector<float>(static_cast<std::size_t>(count) * bands.size())};
  for (std::int64_t r = 0; r < count; ++r) {
    if (r % 256 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    meter.measure(
        stream.view((first + r) * grid.hop_frames, size),
        std::span(rows.powers).subspan(static_cast<std::size_t>(r) * bands.size(), bands.size()));
  }
  rows.set_floor();
  return rows;
}

/// Octave powers of 100 ms frames, from a stream thinned to five samples a hop.
Result<PowerRows> low_rows(const Stream& stream, const SeamGrid& grid, std::int64_t first,
                           std::int64_t count, JobControl& job) {
  const double step_frames =
      static_cast<double>(grid.hop_frames) / static_cast<double>(low_steps_a_hop);
  const Result<std::vector<float>> low =
      thin(stream.samples,
           {first * grid.hop_frames - stream.origin, grid.hop_frames, low_steps_a_hop,
            static_cast<std::size_t>((count + low_hops) * low_steps_a_hop)},
           job);
  if (!low) return low.error();
  const std::vector<Band> bands = octaves_below_250_hz();
  constexpr std::size_t size = low_hops * low_steps_a_hop;
  BandPowers meter(size, grid.sample_rate_hz / step_frames, bands);
  PowerRows rows{first, bands.size(),
                 std::vector<float>(static_cast<std::size_t>(count) * bands.size())};
  for (std::size_t r = 0; r < static_cast<std::size_t>(count); ++r) {
    if (r % 1024 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    meter.measure(audio::MonoView(*low).subspan(r * low_steps_a_hop, size),
                  std::span(rows.powers).subspan(r * bands.size(), bands.size()));
  }
  rows.set_floor();
  return rows;
}

/// Root mean square over the bands of the difference between frames `apart` hops apart.
std::vector<float> adjacent_distance(const PowerRows& rows, const SeamGrid& grid,
                                     std::int64_t apart) {
  const std::vector<float> levels = rows.levels_db();
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

/// Largest first and second difference in the hop from each point.
void step_series(const Stream& stream, const SeamGrid& grid, std::vector<float>& steps,
                 std::vector<float>& slopes) {
  const auto points = static_cast<std::size_t>(grid.points());
  steps.assign(points, 0.0F);
  slopes.assign(points, 0.0F);
  for (std::size_t p = 0; p < points; ++p) {
    const std::int64_t from = (grid.seam_first + static_cast<std::int64_t>(p)) * grid.hop_frames;
    for (std::int64_t n = from; n < from + grid.hop_frames; ++n) {
      const float step = stream.at(n) - stream.at(n - 1);
      const float step_before = stream.at(n - 1) - stream.at(n - 2);
      steps[p] = std::max(steps[p], std::abs(step));
      slopes[p] = std::max(slopes[p], std::abs(step - step_before));
    }
  }
}

/// |level after - level before| over `window` hops, from the powers of hops.
std::vector<float> level_step(std::span<const double> power_before, std::int64_t first,
                              const SeamGrid& grid, std::int64_t window, double floor) {
  std::vector<float> out(static_cast<std::size_t>(grid.points()));
  const auto span = static_cast<double>(window * grid.hop_frames);
  for (std::size_t p = 0; p < out.size(); ++p) {
    const auto at =
        static_cast<std::size_t>(grid.seam_first + static_cast<std::int64_t>(p) - first);
    const auto w = static_cast<std::size_t>(window);
    const double after = (power_before[at + w] - power_before[at]) / span;
    const double before = (power_before[at] - power_before[at - w]) / span;
    out[p] = static_cast<float>(
        std::abs(plain_db(std::max(after, floor)) - plain_db(std::max(before, floor))));
  }
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

OctaveSums sum_octaves(const PowerRows& rows) {
  const std::size_t octaves = (rows.bands + thirds_an_octave - 1) / thirds_an_octave;
  OctaveSums out{rows.first, octaves, std::vector<double>((rows.rows() + 1) * octaves, 0.0)};
  for (std::size_t r = 0; r < rows.rows(); ++r) {
    for (std::size_t o = 0; o < octaves; ++o)
      out.sums[(r + 1) * octaves + o] = out.sums[r * octaves + o];
    for (std::size_t band = 0; band < rows.bands; ++band)
      out.sums[(r + 1) * octaves + band / thirds_an_octave] += rows.powers[r * rows.bands + band];
  }
  return out;
}

std::vector<float> colour_step(const OctaveSums& octaves, const SeamGrid& grid, double floor) {
  std::vector<float> out(static_cast<std::size_t>(grid.points()), 0.0F);
  if (octaves.octaves == 0) return out;
  const std::int64_t reach = half_second_hops;
  for (std::size_t p = 0; p < out.size(); ++p) {
    const std::int64_t at = grid.seam_first + static_cast<std::int64_t>(p);
    double sum = 0.0;
    for (std::size_t o = 0; o < octaves.octaves; ++o) {
      const double after = octaves.mean(at, at + reach - fine_hops + 1, o);
      const double before = octaves.mean(at - reach, at - fine_hops + 1, o);
      const double d = plain_db(std::max(after, floor)) - plain_db(std::max(before, floor));
      sum += d * d;
    }
    out[p] = static_cast<float>(std::sqrt(sum / static_cast<double>(octaves.octaves)));
  }
  return out;
}

/// Appends one channel's four broad levels a 10 ms to the columns of the rhythm's patterns.
void add_pattern_bands(const PowerRows& rows, std::vector<std::vector<float>>& columns) {
  const std::size_t count = (rows.rows() + 1) / 2;
  const std::size_t groups = std::min(pattern_bands, rows.bands);
  for (std::size_t g = 0; g < groups; ++g) {
    const std::size_t from = g * rows.bands / groups;
    const std::size_t to = (g + 1) * rows.bands / groups;
    std::vector<float> column(count);
    for (std::size_t c = 0; c < count; ++c) {
      double power = 0.0;
      for (std::size_t band = from; band < to; ++band)
        power += rows.powers[2 * c * rows.bands + band];
      column[c] = static_cast<float>(plain_db(std::max(power, rows.floor)));
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

}  // namespace

Result<SeamSeries> measure_points(const std::vector<std::vector<float>>& loop, const SeamGrid& grid,
                                  const std::array<bool, measure_count>& wanted,
                                  const InteriorSpan& interior, JobControl& job) {
  SeamSeries series;
  const auto points = static_cast<std::size_t>(grid.points());
  const Reach reach = reach_of(grid, wanted);
  const std::int64_t rows = reach.count;
  series.level_db.assign(points, 0.0F);
  std::vector<std::vector<float>> columns;
  for (const std::vector<float>& channel : loop) {
    std::array<std::vector<float>, measure_count> values;
    const Stream stream = unroll(channel, (reach.first - low_hops) * grid.hop_frames,
                                 (reach.first + rows + 2 * low_hops) * grid.hop_frames);
    double power = 0.0;
    for (const float x : channel)
      power += static_cast<double>(x) * x;
    const double mean_power = power / static_cast<double>(channel.size());
    series.channel_rms.push_back(std::sqrt(mean_power));
    const double floor = std::max(least_power, mean_power * inaudible_share);

    step_series(stream, grid, values[sample_step], values[slope_step]);
    if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};

    std::vector<double> power_before(static_cast<std::size_t>(rows) + 1, 0.0);
    for (std::int64_t r = 0; r < rows; ++r) {
      double sum = 0.0;
      for (const float x : stream.view((reach.first + r) * grid.hop_frames, grid.hop_frames))
        sum += static_cast<double>(x) * x;
      power_before[static_cast<std::size_t>(r) + 1] =
          power_before[static_cast<std::size_t>(r)] + sum;
    }
    for (const MeasureIndex m : {rms_50ms, rms_500ms}) {
      if (wanted[m]) {
        values[m] =
            level_step(power_before, reach.first, grid, measure_kinds[m].window_hops, floor);
      }
    }
    for (std::size_t p = 0; p < points; ++p) {
      const auto r = static_cast<std::size_t>(grid.seam_first - reach.first) + p;
      const double level =
          (power_before[r + 2] - power_before[r - 2]) / static_cast<double>(4 * grid.hop_frames);
      series.level_db[p] +=
          static_cast<float>(plain_db(std::max(level, floor)) / static_cast<double>(loop.size()));
    }

    Result<PowerRows> fine = fine_rows(stream, grid, reach.first, rows, job);
    if (!fine) return fine.error();
    if (wanted[spectrum_fine]) values[spectrum_fine] = adjacent_distance(*fine, grid, fine_hops);
    const OctaveSums octaves = sum_octaves(*fine);
    if (wanted[colour_500ms]) values[colour_500ms] = colour_step(octaves, grid, fine->floor);
    if (wanted[rhythm]) add_pattern_bands(*fine, columns);
    series.octaves = octaves.octaves;
    std::vector<float> levels(points * octaves.octaves);
    for (std::size_t p = 0; p < points; ++p) {
      const std::int64_t at = grid.seam_first + static_cast<std::int64_t>(p);
      for (std::size_t o = 0; o < octaves.octaves; ++o) {
        levels[p * octaves.octaves + o] = static_cast<float>(
            plain_db(std::max(octaves.mean(at, at + tell_frames, o), fine->floor)));
      }
    }
    series.octave_db.push_back(std::move(levels));

    if (wanted[spectrum_low]) {
      Result<PowerRows> low = low_rows(stream, grid, reach.first, rows, job);
      if (!low) return low.error();
      // Lows far under the sound as a whole are not heard.
      low->floor = std::max(low->floor, floor);
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
