// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/beat_sound.h"

#include "plain_log.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>

namespace fourbeat::dsp {

namespace {

constexpr double window_s = 0.010;
constexpr double hop_s = 0.0025;
constexpr double around_s = 3.0;
constexpr double quiet_share = 0.1;
/// The last beat of a stretch has no next one: it is given this long at most.
constexpr double longest_s = 1.0;

/// Level of 10 ms about each hop, in dB; silence is `silent_db`.
constexpr double silent_db = -250.0;
Result<std::vector<double>> levels_of(SampleSource& samples, double sample_rate_hz,
                                      JobControl& job) {
  constexpr std::int64_t block_frames = 1 << 14;
  const std::int64_t size = samples.frames().value();
  const auto half = std::max<std::int64_t>(1, std::llround(0.5 * window_s * sample_rate_hz));
  // Sums of the squares before each frame, as far back as a window reaches: a ring.
  std::vector<double> sums(static_cast<std::size_t>(2 * half + 1), 0.0);
  std::size_t slot = 0;
  std::int64_t done = 0;
  audio::MonoView block;
  std::int64_t block_start = 0;
  std::int64_t block_end = 0;
  std::vector<double> levels;
  for (std::size_t hop = 0;; ++hop) {
    const std::int64_t at = std::llround(static_cast<double>(hop) * hop_s * sample_rate_hz);
    if (at >= size) break;
    const std::int64_t low = std::max<std::int64_t>(0, at - half);
    const std::int64_t high = std::min(size, at + half);
    for (; done < high; ++done) {
      if (done == block_end) {
        if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
        job.progress(static_cast<double>(done) / static_cast<double>(size), "sounds");
        block_start = done;
        block_end = std::min(size, done + block_frames);
        const Result<audio::MonoView> read = samples.read(frame_range(block_start, block_end));
        if (!read) return read.error();
        block = *read;
      }
      const double x = static_cast<double>(block[static_cast<std::size_t>(done - block_start)]);
      const double sum = sums[slot] + x * x;
      slot = slot + 1 < sums.size() ? slot + 1 : 0;
      sums[slot] = sum;
    }
    const auto back = static_cast<std::size_t>(high - low);
    const std::size_t low_slot = slot >= back ? slot - back : slot + sums.size() - back;
    const double power = (sums[slot] - sums[low_slot]) / static_cast<double>(high - low);
    levels.push_back(power > 1e-25 ? plain_db(power) : silent_db);
  }
  return levels;
}

}  // namespace

Result<std::vector<std::optional<BeatSound>>> measure_beat_sounds(SampleSource& samples,
                                                                  double sample_rate_hz,
                                                                  const BeatTrack& track,
                                                                  FrameIndex first,
                                                                  JobControl& job) {
  std::vector<std::optional<BeatSound>> sounds(track.beats.size());
  if (sounds.empty()) return sounds;
  const Result<std::vector<double>> heard = levels_of(samples, sample_rate_hz, job);
  if (!heard) return heard.error();
  const std::vector<double>& levels = *heard;
  const auto hops = static_cast<std::int64_t>(levels.size());
  const auto hop_of = [&](FrameIndex frame) {
    const double seconds = static_cast<double>((frame - first).value()) / sample_rate_hz;
    return std::clamp<std::int64_t>(std::llround(seconds / hop_s), 0, hops);
  };
  std::vector<double> near;
  for (std::size_t i = 0; i < track.beats.size(); ++i) {
    const FrameIndex frame = track.beats[i].frame;
    const auto limit = FrameCount(std::llround(longest_s * sample_rate_hz));
    const FrameIndex next = i + 1 < track.beats.size()
                                ? std::min(track.beats[i + 1].frame, frame + limit)
                                : frame + limit;
    const std::int64_t from = hop_of(frame);
    const std::int64_t to = hop_of(next);
    if (to - from < 2) continue;
    const std::int64_t reach = std::llround(around_s / hop_s);
    near.assign(levels.begin() + std::max<std::int64_t>(0, from - reach),
                levels.begin() + std::min(hops, from + reach));
    const auto rank = static_cast<std::ptrdiff_t>(quiet_share * static_cast<double>(near.size()));
    std::nth_element(near.begin(), near.begin() + rank, near.end());
    const double background = near[static_cast<std::size_t>(rank)];
    const double loudest = *std::max_element(levels.begin() + from, levels.begin() + to);
    if (!(background > silent_db) || !(loudest > background)) continue;
    const double midway = 0.5 * (background + loudest);
    const auto above = std::count_if(levels.begin() + from, levels.begin() + to,
                                     [&](double level) { return level >= midway; });
    sounds[i] = BeatSound{loudest - background,
                          static_cast<double>(above) / static_cast<double>(to - from)};
  }
  return sounds;
}

}  // namespace fourbeat::dsp
