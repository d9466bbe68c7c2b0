// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <string_view>
#include <vector>

namespace fourbeat::tests {

/// What makes a field take hard. Levels are of a beat's RMS at its peak over the other's RMS,
/// unless said; what is not said is easy: beats 18 to 26 dB over the background, one to nine a
/// second, the speed changing slowly, four to the revolution, angles within 2 degrees of even.
enum class FieldCondition {
  clean,
  over_6_db,     ///< beats 6 dB over a steady background
  over_0_db,     ///< and 0 dB
  pump,          ///< the air pump's strokes, −6 to +2 dB over the beats' peaks
  whistle,       ///< blasts 3 to 9 dB over the beats, a third of the time
  safety_valve,  ///< lifts for half the time, −6 to 0 dB
  wind,          ///< gusts on the microphone, up to 6 dB over the beats
  hum,           ///< of the mains and its overtones, −6 to 3 dB
  clipping,      ///< recorded 6 to 14 dB too high
  dropouts,      ///< 20 to 200 ms of nothing, some twelve a minute
  passing,       ///< other traffic passes, up to 0 dB
  from_rest,     ///< steady acceleration: beat k at 2.0 to 2.8 s × sqrt(k)
  express,       ///< beats 24 to 60 ms apart
  stop_restart,  ///< slows to a stand and starts again
  slip,          ///< the wheels slip: beats three to four times as fast for a second or two
  uneven,        ///< intervals alternate by up to 25 %, levels by the place
  two_beats,     ///< of a revolution, and so on; limps and levels by the place
  three_beats,
  four_beats,
  six_beats,
  eight_beats,
  microphones,  ///< three: one by the chimney, the others hear other things better
  drifting,     ///< regulator shut: rolling noise and clatter, no beat
  standing,     ///< pump, injector and wind, no beat
};
inline constexpr int field_conditions = static_cast<int>(FieldCondition::standing) + 1;

[[nodiscard]] std::string_view name_of(FieldCondition condition);

/// A take with everything known of it.
struct FieldTake {
  FieldCondition condition = FieldCondition::clean;
  double sample_rate_hz = 0.0;
  std::vector<std::vector<float>> channels;
  std::vector<double> delays_s;           ///< of the beats, one a channel
  std::vector<double> beats_s;            ///< middle, in dB, of each attack where the delay is 0
  std::vector<int> positions;             ///< place of each in the revolution
  std::vector<double> angles_deg;         ///< of the places
  std::function<double(double)> rate_hz;  ///< mean beats a second over time
  double driver_diameter_mm = 0.0;
  int beats_per_rev = 4;
  double top_speed_kmh = 0.0;
};

/// The same for the same arguments; everything varies with the seed: room, timbre, levels, speed,
/// sample rate. seconds: 0: the condition's usual length (30 to 60 s; standing: 600 s).
[[nodiscard]] FieldTake field_take(FieldCondition condition, std::uint64_t seed,
                                   double seconds = 0.0);

}  // namespace fourbeat::tests
