// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace fourbeat::dsp {

inline constexpr double hop_s = 0.005;
inline constexpr std::int64_t fine_hops = 4;        ///< 20 ms frames
inline constexpr std::int64_t low_hops = 20;        ///< 100 ms frames
inline constexpr std::int64_t low_steps_a_hop = 5;  ///< the low stream runs at about 1 kHz
inline constexpr double least_band_power = 1e-11;   ///< -110 dBFS

/// Frames of a hop of 5 ms.
[[nodiscard]] std::int64_t hop_frames_of(double sample_rate_hz);

/// What the seam's measures need of a run of hops of one channel. Each hop's figures depend on
/// nothing but the frames from one hop before it to four hops after its start: so the hops of a
/// loop are those of its material, wherever no blend is near.
struct HopRows {
  explicit HopRows(double sample_rate_hz, std::int64_t first_hop, std::int64_t count);

  std::int64_t first = 0;
  std::size_t bands = 0;       ///< third octaves from 250 Hz
  std::vector<float> step;     ///< largest first difference in the hop
  std::vector<float> slope;    ///< largest second difference
  std::vector<double> sum;     ///< of the hop's samples
  std::vector<double> square;  ///< of their squares
  std::vector<float> fine;     ///< [hop × bands]: powers of the 20 ms frame that starts there
  std::vector<float> fine_db;  ///< the same in dB, -110 dBFS at least
  std::vector<float> low;      ///< [hop × low_steps_a_hop]: the sound below 400 Hz

  [[nodiscard]] std::int64_t count() const { return static_cast<std::int64_t>(step.size()); }
  /// Takes `run` hops of another's from hop `theirs` on as the own from hop `own` on.
  void copy(const HopRows& from, std::int64_t theirs, std::int64_t own, std::int64_t run);
};

/// A frame without its mean, so that no constant leaks into the bands.
void centre(audio::MonoView frame, std::span<float> out);

/// Fills the hops [from, to) of `rows`; hop h starts at frame h × hop - origin of `samples`, which
/// hold all its figures need (silence counts where the low stream looks beyond). Errors: cancelled.
[[nodiscard]] Status measure_hops(audio::MonoView samples, std::int64_t origin,
                                  double sample_rate_hz, std::int64_t from, std::int64_t to,
                                  HopRows& rows, const JobControl& job);

/// The hops of a material from its first frame on, each measured when it is first asked for.
/// Not shared between threads.
class MaterialHops {
 public:
  /// The channels, equally long, must outlive the object.
  MaterialHops(const std::vector<std::vector<float>>& channels, double sample_rate_hz);

  /// The hops a channel has figures for: [first_hop(), end_hop()).
  [[nodiscard]] static std::int64_t first_hop() { return 1; }
  [[nodiscard]] std::int64_t end_hop() const { return end_; }
  /// Measures what is missing of the hops [from, to) and returns the channel's rows.
  /// Errors: cancelled.
  [[nodiscard]] Result<const HopRows*> rows(std::size_t channel, std::int64_t from, std::int64_t to,
                                            const JobControl& job);

 private:
  const std::vector<std::vector<float>>& channels_;
  double sample_rate_hz_ = 0.0;
  std::int64_t end_ = 0;
  std::vector<HopRows> rows_;
  std::vector<std::vector<bool>> known_;  ///< by channel and chunk
};

/// Where a loop's hops are those of its material: hop h of the loop, first ≤ h < end, is hop
/// shift + h there.
struct KnownHops {
  MaterialHops* material = nullptr;
  std::int64_t shift = 0;
  std::int64_t first = 0;
  std::int64_t end = 0;
};

}  // namespace fourbeat::dsp
