// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/wheel.h"
#include "fourbeat/drive/compiled_set.h"
#include "fourbeat/drive/drive.h"
#include "fourbeat/drive/engine.h"

#include <cstdint>
#include <memory>
#include <vector>

namespace fourbeat::tests {

inline constexpr int twin_rate_hz = 44100;
inline constexpr double twin_sine_hz = 200.0;
inline constexpr double twin_amplitude = 0.25;
inline constexpr double twin_diameter_mm = 1500.0;

/// Turns a frame at a speed on the twin's wheel.
inline double turns_per_frame(double speed_kmh) {
  return speed_kmh / 3.6 / wheel_circumference_m(twin_diameter_mm) / twin_rate_hz;
}

/// A small invented set put together in memory: an engine, chuffs and keys whose sounds are what
/// a test asks for.
struct TwinSet {
  model::Project project;
  model::DecoderProfile profile;
  std::vector<drive::PieceSound> sounds;

  /// Four even beats, 1.5 m drivers, 80 km/h; no momentum; plenty of voices; no row, no key.
  TwinSet();

  /// Adds a row of `revolutions` turns; every chuff has these samples.
  Id<model::ChuffRow> add_row(double from_kmh, double to_kmh, model::Effort effort, int revolutions,
                              const std::vector<float>& samples);
  /// A segment with these samples, at any rate.
  Id<model::Segment> add_segment(audio::Clip clip, double playback_gain_db = 0.0);
  Id<model::Sound> add_shot(audio::Clip clip, int priority = 50);
  Id<model::Sound> add_held(Id<model::Segment> begin, Id<model::Segment> hold,
                            Id<model::Segment> release, int priority = 50);
  void add_key(int number, Id<model::Sound> sound,
               model::KeyDirection direction = model::KeyDirection::any);
  void set_cv(int number, int value);

  [[nodiscard]] std::shared_ptr<const drive::CompiledSet> compile() const;
};

/// Samples at the twin's rate.
[[nodiscard]] audio::Clip clip_of(std::vector<float> samples);
/// A 200 Hz sine; rises or falls smoothly over 10 ms where asked; phase in turns.
[[nodiscard]] std::vector<float> sine(std::int64_t frames, bool rise, bool fall,
                                      double phase = 0.0);
/// A hold: two whole periods of the sine after a lead-in of two more, looped.
[[nodiscard]] audio::Clip sine_hold(double phase = 0.0);

/// A card of moves at twin times.
[[nodiscard]] model::Move throttle(double time_s, int step);
[[nodiscard]] model::Move key(double time_s, int number, bool on);
[[nodiscard]] model::Move direction(double time_s, bool forward);

/// Drives and insists that it went well.
[[nodiscard]] drive::DriveOutput drive_well(const std::shared_ptr<const drive::CompiledSet>& set,
                                            const model::RunCard& card,
                                            const drive::DriveOptions& options = {});
[[nodiscard]] std::vector<drive::Event> events_of(const drive::DriveOutput& output,
                                                  drive::EventKind kind);

/// The largest second difference |x[i+1] - 2 x[i] + x[i-1]|.
[[nodiscard]] double largest_bend(const std::vector<float>& samples);
/// That of the twin's steady sine.
[[nodiscard]] double steady_bend();

}  // namespace fourbeat::tests
