// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "waves.h"

#include "fourbeat/audio/pcm.h"

#include <cstdint>
#include <span>
#include <string>
#include <vector>

/// Where sources and microphones are, and what the air and the surroundings make of it.

namespace fourbeat::demo {

inline constexpr double sound_speed_m_s = 343.0;

/// Metres: x forward from the chimney, y to the side, z above the rails.
struct Place {
  double x_m = 0.0;
  double y_m = 0.0;
  double z_m = 0.0;
};

[[nodiscard]] double distance_m(const Place& a, const Place& b);
/// Whole frames that sound takes over a distance.
[[nodiscard]] std::int64_t delay_frames(const Place& from, const Place& to);

struct Microphone {
  std::string position;
  Place place;
  double outside_hz = 0.0;  ///< in a cab: sound from outside comes in below this; 0: in the open
  double wind = 0.0;        ///< how much the wind gets at it, 0 to 1
  double hum = 0.0;         ///< level of the 50 Hz mains lines, full scale 1
};

/// The surroundings of one take.
struct Surroundings {
  double ground_gain = 0.35;  ///< reflection at the ballast
  double echo_gain = 0.0;     ///< of one far wall
  double echo_s = 0.0;
  double tail_s = 0.6;  ///< reverberation falls by 60 dB in this time
  double tail_gain = 0.05;
};

/// Mixes sources to the microphones of one take.
class Stage {
 public:
  Stage(std::int64_t frames, std::vector<Microphone> microphones, const Surroundings& surroundings,
        std::uint64_t seed);

  /// Adds a source, spreading spherically, delayed by whole frames. indoors: it is in the cab.
  void play(const Samples& source, const Place& from, double gain, bool indoors = false);

  /// Adds wind at the microphones, by its strength at each frame (empty: even, 1).
  void blow(double gain, const Samples& strength);

  /// Adds a steady far-off tone: a plant, a transformer.
  void whine(double hz, double level);

  /// Adds reverberation, mains hum and the recorder's hiss, sets every channel's gain (one each,
  /// linear), and hands the channels over.
  [[nodiscard]] audio::Pcm finish(std::span<const double> gains, double hiss_dbfs);

 private:
  void reverberate();
  std::vector<Microphone> microphones_;
  Surroundings surroundings_;
  std::uint64_t seed_;
  std::vector<Samples> channels_;
  Samples send_;
};

}  // namespace fourbeat::demo
