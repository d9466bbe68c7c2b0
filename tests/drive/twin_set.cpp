// SPDX-License-Identifier: GPL-3.0-or-later
#include "twin_set.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

namespace fourbeat::tests {

TwinSet::TwinSet() {
  project.title = "twin";
  project.engine.driver_diameter_mm = twin_diameter_mm;
  project.engine.top_speed_kmh = 80.0;
  profile.id = "twin";
  profile.voices = 16;
  profile.output_rate_hz = twin_rate_hz;
  profile.highest_key = 28;
  set_cv(3, 0);
  set_cv(4, 0);
}

Id<model::ChuffRow> TwinSet::add_row(double from_kmh, double to_kmh, model::Effort effort,
                                     int revolutions, const std::vector<float>& samples) {
  model::ChuffRow row;
  row.id = Id<model::ChuffRow>(project.next_id++);
  row.from_kmh = from_kmh;
  row.to_kmh = to_kmh;
  row.effort = effort;
  for (int r = 0; r < revolutions; ++r) {
    model::Revolution& turn = row.revolutions.emplace_back();
    for (int c = 0; c < project.engine.beats_per_rev; ++c) {
      turn.chuffs.emplace_back();
      sounds.push_back({{{}, row.id, r, c}, clip_of(samples), 0.0});
    }
  }
  project.chuffs.rows.push_back(row);
  return row.id;
}

Id<model::Segment> TwinSet::add_segment(audio::Clip clip, double playback_gain_db) {
  model::Segment segment;
  segment.id = Id<model::Segment>(project.next_id++);
  segment.name = "piece " + std::string(1, static_cast<char>('a' + segment.id.value() % 26));
  segment.range = frame_range(0, static_cast<std::int64_t>(clip.samples.size()));
  sounds.push_back({{segment.id, {}, 0, 0}, std::move(clip), playback_gain_db});
  project.segments.push_back(segment);
  return segment.id;
}

Id<model::Sound> TwinSet::add_shot(audio::Clip clip, int priority) {
  model::Sound sound;
  sound.segment = add_segment(std::move(clip));
  sound.id = Id<model::Sound>(project.next_id++);
  sound.name = "shot";
  sound.priority = priority;
  project.sounds.push_back(sound);
  return sound.id;
}

Id<model::Sound> TwinSet::add_held(Id<model::Segment> begin, Id<model::Segment> hold,
                                   Id<model::Segment> release, int priority) {
  model::Sound sound;
  sound.id = Id<model::Sound>(project.next_id++);
  sound.name = "held";
  sound.kind = model::SoundKind::held;
  sound.begin = begin;
  sound.hold = hold;
  sound.release = release;
  sound.priority = priority;
  project.sounds.push_back(sound);
  return sound.id;
}

void TwinSet::add_key(int number, Id<model::Sound> sound, model::KeyDirection direction) {
  model::Key key;
  key.id = Id<model::Key>(project.next_id++);
  key.number = number;
  key.direction = direction;
  key.sound = sound;
  project.keys.push_back(key);
}

void TwinSet::set_cv(int number, int value) {
  for (model::Cv& cv : project.cvs) {
    if (cv.number == number) {
      cv.value = value;
      return;
    }
  }
  model::Cv cv;
  cv.id = Id<model::Cv>(project.next_id++);
  cv.number = number;
  cv.value = value;
  project.cvs.push_back(cv);
}

audio::Clip clip_of(std::vector<float> samples) {
  audio::Clip clip;
  clip.sample_rate_hz = twin_rate_hz;
  clip.samples = std::move(samples);
  return clip;
}

std::vector<float> sine(std::int64_t frames, bool rise, bool fall, double phase) {
  constexpr double edge = 441.0;
  const auto smooth = [](double place) { return place * place * (3.0 - 2.0 * place); };
  std::vector<float> samples(static_cast<std::size_t>(frames));
  for (std::int64_t i = 0; i < frames; ++i) {
    const double turns = phase + twin_sine_hz * static_cast<double>(i) / twin_rate_hz;
    double level = twin_amplitude;
    if (rise) level *= smooth(std::min(1.0, static_cast<double>(i) / edge));
    if (fall) level *= smooth(std::min(1.0, static_cast<double>(frames - i) / edge));
    samples[static_cast<std::size_t>(i)] =
        static_cast<float>(level * std::sin(2.0 * std::numbers::pi * turns));
  }
  return samples;
}

audio::Clip sine_hold(double phase) {
  audio::Clip clip = clip_of(sine(882, false, false, phase));
  clip.loop = frame_range(441, 882);
  return clip;
}

model::Move throttle(double time_s, int step) {
  return {time_s, model::MoveThrottle{step}};
}
model::Move key(double time_s, int number, bool on) {
  return {time_s, model::MoveKey{number, on}};
}
model::Move direction(double time_s, bool forward) {
  return {time_s, model::MoveDirection{forward}};
}

std::vector<drive::Event> events_of(const drive::DriveOutput& output, drive::EventKind kind) {
  std::vector<drive::Event> found;
  for (const drive::Event& event : output.events) {
    if (event.kind == kind) found.push_back(event);
  }
  return found;
}

double largest_bend(const std::vector<float>& samples) {
  double largest = 0.0;
  for (std::size_t i = 1; i + 1 < samples.size(); ++i) {
    const double bend = static_cast<double>(samples[i + 1]) -
                        2.0 * static_cast<double>(samples[i]) + static_cast<double>(samples[i - 1]);
    largest = std::max(largest, std::abs(bend));
  }
  return largest;
}

double steady_bend() {
  return largest_bend(sine(4410, false, false));
}

}  // namespace fourbeat::tests
