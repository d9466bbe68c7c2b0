// SPDX-License-Identifier: GPL-3.0-or-later
#include "exhaust.h"
#include "motion.h"
#include "stage.h"
#include "takes.h"

#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace fourbeat::demo {

namespace {

constexpr Place chimney{0.0, 0.0, 3.5};
constexpr Place firebox{-5.4, 1.0, 1.7};
constexpr Place left_motion{-2.6, 1.25, 0.8};
constexpr Place cylinder{-0.4, 1.2, 0.8};
constexpr Place wheels{-3.2, 0.7, 0.1};

std::vector<Microphone> microphones_on_engine() {
  return {{"chimney", {-0.85, 0.55, 3.1}, 0.0, 0.55, 0.0},
          {"firebox side", {-5.0, 1.7, 2.2}, 0.0, 0.35, 0.0},
          {"motion", {-3.1, 2.0, 1.1}, 0.0, 0.45, 0.0},
          {"cab", {-7.3, 0.4, 2.3}, 1500.0, 0.06, 0.0}};
}

/// The recorder's gains, left alone from run to run: a drifting engine stays as much softer than
/// a working one as it is.
constexpr std::array<double, 4> recorder_gains{0.075, 0.28, 0.28, 0.36};

struct Run {
  std::string file;
  std::string title;
  std::string log;
  double seconds;
  std::vector<Knot> speed_kmh;
  std::vector<Knot> effort;
};

model::Effort effort_word(double effort) {
  if (effort < 0.25) return model::Effort::drifting;
  return effort < 0.75 ? model::Effort::easy : model::Effort::hard;
}

/// The rods, where the engine drifts steadily: whole turns of the wheel as the motion microphone
/// hears them, from a beat of place 0.
void mark_rods(SynthTake& take) {
  constexpr std::size_t turns_wanted = 7;
  constexpr std::size_t motion = 2;
  TakeTruth& truth = take.truth;
  std::vector<FrameIndex> turns;
  for (const TruthBeat& beat : truth.beats) {
    if (beat.position == 0 && beat.speed_kmh > 24.98 && beat.speed_kmh < 25.02) {
      turns.push_back(beat.frame);
    }
  }
  if (turns.size() < 1 + turns_wanted) return;
  const FrameCount late(truth.chimney_delay_frames[motion] - truth.chimney_delay_frames[0]);
  const FrameRange range{turns[0] + late, turns[turns_wanted] + late};
  float peak = 0.0F;
  for (std::int64_t i = range.start.value(); i < range.end.value(); ++i) {
    peak = std::max(peak, std::fabs(take.pcm.channels[motion][static_cast<std::size_t>(i)]));
  }
  truth.events.push_back({"rods", "hold", range, peak, static_cast<int>(motion) + 1});
}

SynthTake run(const Run& plan, std::uint64_t seed) {
  const model::Engine engine = demo_engine();
  const std::int64_t frames = frames_of(plan.seconds);
  const std::vector<double> speed = curve(plan.speed_kmh, frames);
  const std::vector<double> effort = curve(plan.effort, frames);
  const std::vector<double> angles = engine.beat_angles_deg;
  std::vector<double> knock_angles;
  knock_angles.reserve(angles.size());
  for (const double angle : angles)
    knock_angles.push_back(angle + 7.0);
  const std::vector<WheelMoment> beats = moments(speed, engine, angles);
  const std::vector<WheelMoment> knocks = moments(speed, engine, knock_angles);

  const std::vector<Microphone> mics = microphones_on_engine();
  Stage stage(frames, mics, {0.30, 0.035, 0.19, 0.5, 0.010}, seed_of(seed, "stage"));
  stage.play(exhaust(beats, effort, seed_of(seed, "exhaust")), chimney, 1.0);
  stage.play(rods(knocks, effort, seed_of(seed, "rods")), left_motion, 2.0);
  stage.play(rolling(speed, seed_of(seed, "rolling")), wheels, 0.6);
  const std::vector<double> wheel =
      turns_run(speed, wheel_circumference_m(engine.driver_diameter_mm));
  stage.play(gland(wheel, effort, seed_of(seed, "gland")), cylinder, 1.0);
  stage.play(fire(effort, seed_of(seed, "fire")), firebox, 1.0);
  Samples airflow(static_cast<std::size_t>(frames));
  for (std::size_t i = 0; i < airflow.size(); ++i) {
    const double pace = speed[i] / 65.0;
    airflow[i] = static_cast<float>(0.12 + pace * pace);
  }
  stage.blow(0.10, airflow);

  SynthTake take;
  take.pcm = stage.finish(recorder_gains, -78.0);
  TakeTruth& truth = take.truth;
  truth.file = plan.file;
  truth.title = plan.title;
  truth.log = plan.log;
  for (const Microphone& mic : mics) {
    truth.microphones.push_back(mic.position);
    truth.chimney_delay_frames.push_back(delay_frames(chimney, mic.place));
  }
  for (const WheelMoment& beat : beats) {
    const auto i = static_cast<std::size_t>(beat.frame);
    const double opened = static_cast<double>(std::llround(beat.frame));
    const std::int64_t frame =
        std::llround(opened + attack_s(effort[i]) * rate_hz) + truth.chimney_delay_frames.front();
    if (frame + frames_of(0.03) >= frames) break;
    truth.beats.push_back(
        {FrameIndex(frame), beat.position, beat.speed_kmh, effort_word(effort[i])});
  }
  for (std::int64_t i = 0; i < frames; i += frames_of(0.1)) {
    truth.speeds.push_back({static_cast<double>(i) / rate_hz, speed[static_cast<std::size_t>(i)]});
  }
  return take;
}

}  // namespace

SynthTake pulling_away(std::uint64_t seed) {
  return run({std::string(take_files[0]),
              "Pulling away",
              "Run 1, away from the halt. Regulator wide, cut-off from 75 back to 40 %, level, "
              "four coaches. Dry, light wind.",
              27.0,
              {{0.0, 5.0}, {4.0, 6.6}, {10.0, 12.0}, {17.0, 21.0}, {23.0, 31.0}, {27.0, 36.5}},
              {{0.0, 0.95}, {8.0, 1.0}, {18.0, 0.92}, {27.0, 0.86}}},
             seed_of(seed, "pulling_away"));
}

SynthTake working(std::uint64_t seed) {
  return run({std::string(take_files[1]),
              "Working",
              "Run 2, between the halts. Regulator a third, cut-off 20 %, level, four coaches; "
              "steady at 20, 40 and 65 km/h.",
              32.0,
              {{0.0, 20.0},
               {4.0, 20.0},
               {9.0, 29.0},
               {14.0, 40.0},
               {18.0, 40.0},
               {23.5, 54.0},
               {28.0, 65.0},
               {32.0, 65.0}},
              {{0.0, 0.50}, {6.0, 0.56}, {14.0, 0.52}, {23.0, 0.57}, {32.0, 0.50}}},
             seed_of(seed, "working"));
}

SynthTake drifting(std::uint64_t seed) {
  SynthTake take =
      run({std::string(take_files[2]),
           "Drifting",
           "Run 3, down to the river halt. Regulator shut but for a breath, cut-off 50 %, "
           "falling 1 in 90; steady at 25 km/h past the sidings.",
           23.0,
           {{0.0, 60.0}, {2.0, 59.0}, {7.0, 42.0}, {12.0, 25.0}, {17.5, 25.0}, {23.0, 10.0}},
           {{0.0, 0.10}, {10.0, 0.07}, {23.0, 0.05}}},
          seed_of(seed, "drifting"));
  mark_rods(take);
  return take;
}

}  // namespace fourbeat::demo
