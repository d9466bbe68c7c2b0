// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/pass_by.h"

#include "support/catch.h"
#include "support/wheel_runs.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/dsp/speed.h"

#include <cmath>

using namespace fourbeat;
using namespace fourbeat::dsp;
using fourbeat::tests::beats_of;
using fourbeat::tests::wheel_of;
using fourbeat::tests::WheelRun;

namespace {

constexpr double sound_m_s = 340.27;  // 15 degrees Celsius, see the test below

/// A run past a microphone `distance_m` off the line, after `nearest_at_m` metres.
WheelRun passing(double kmh, double distance_m, std::uint64_t seed) {
  WheelRun run;
  run.seed = seed;
  run.seconds = 24.0;
  run.angle_sigma_deg = 1.0;
  run.time_sigma_s = 0.003;
  run.speed_m_s = [kmh](double) { return m_s_of_kmh(kmh); };
  tests::hear_from_lineside(run, distance_m, 0.5 * m_s_of_kmh(kmh) * run.seconds, sound_m_s);
  return run;
}

std::optional<PassBy> found_in(const WheelRun& run, const WheelParams& wheel) {
  const Result<std::optional<PassBy>> found = find_pass_by(beats_of(run), wheel);
  REQUIRE(found);
  return *found;
}

}  // namespace

TEST_CASE("pass-by: speed of sound in air is that of the standard", "[dsp]") {
  // ISO 9613-1: 343.2 m/s at 20 degrees; 331.3 m/s at freezing point (handbook value).
  CHECK(speed_of_sound_m_s(20.0) == Approx(343.2).margin(0.01));
  CHECK(speed_of_sound_m_s(0.0) == Approx(331.3).margin(0.1));
  CHECK(speed_of_sound_m_s(15.0) == Approx(sound_m_s).margin(0.01));
}

TEST_CASE(
    "pass-by: at 40 km/h the beats come 3 % too fast, then too slow, and the engine's own "
    "speed is told",
    "[dsp]") {
  for (const double distance_m : {4.0, 12.0, 25.0}) {
    const WheelRun run = passing(40.0, distance_m, 3);
    const BeatTrack track = beats_of(run);
    // What is heard: a Doppler shift of v / c = 3.3 %.
    const SpeedCurve heard = *measure_speed(track, wheel_of(run));
    CHECK(*heard.at(3.0)->speed_kmh == Approx(40.0 * (1.0 + 11.11 / sound_m_s)).margin(0.4));
    CHECK(*heard.at(23.0)->speed_kmh == Approx(40.0 * (1.0 - 11.11 / sound_m_s)).margin(0.4));
    const std::optional<PassBy> pass_by = found_in(run, wheel_of(run));
    INFO(distance_m << " m");
    REQUIRE(pass_by);
    CHECK(pass_by->confidence > 0.99);
    CHECK(pass_by->speed_kmh == Approx(40.0).margin(0.3));
    CHECK(pass_by->distance_m == Approx(distance_m).margin(4.0 * pass_by->distance_sd_m + 0.5));
    CHECK(pass_by->time_s == Approx(1.0 + 12.0 + distance_m / sound_m_s).margin(0.2));
    const SpeedCurve own = *measure_speed(track, wheel_of(run), pass_by);
    for (double t = 3.0; t < 23.0; t += 1.0)
      CHECK(*own.at(t)->speed_kmh == Approx(40.0).margin(0.4));
  }
}

TEST_CASE("pass-by: without a diameter the shift itself tells the speed", "[dsp]") {
  const WheelRun run = passing(60.0, 6.0, 5);
  WheelParams wheel = wheel_of(run);
  wheel.driver_diameter_mm.reset();
  const std::optional<PassBy> pass_by = found_in(run, wheel);
  REQUIRE(pass_by);
  CHECK(pass_by->speed_kmh == Approx(60.0).margin(4.0 * pass_by->speed_sd_kmh + 0.5));
  CHECK(pass_by->speed_sd_kmh < 6.0);
}

TEST_CASE("pass-by: an engine that works by as it speeds up is found too", "[dsp]") {
  WheelRun run = passing(40.0, 8.0, 7);
  run.speed_m_s = [](double t) { return 9.0 + 0.18 * t; };
  tests::hear_from_lineside(run, 8.0, 9.0 * 12.0 + 0.09 * 144.0, sound_m_s);
  const std::optional<PassBy> pass_by = found_in(run, wheel_of(run));
  REQUIRE(pass_by);
  CHECK(pass_by->speed_kmh == Approx(kmh_of_m_s(9.0 + 0.18 * 12.0)).margin(0.6));
}

TEST_CASE("pass-by: standard deviations hold the truth about two times in three", "[dsp]") {
  int found = 0;
  int inside_distance = 0;
  int inside_speed = 0;
  constexpr int seeds = 24;
  for (int seed = 1; seed <= seeds; ++seed) {
    const std::optional<PassBy> pass_by = found_in(
        passing(45.0, 10.0, static_cast<std::uint64_t>(seed)), wheel_of(passing(45.0, 10.0, 1)));
    if (!pass_by) continue;
    ++found;
    inside_distance += std::fabs(pass_by->distance_m - 10.0) <= pass_by->distance_sd_m ? 1 : 0;
    inside_speed += std::fabs(pass_by->speed_kmh - 45.0) <= pass_by->speed_sd_kmh ? 1 : 0;
  }
  INFO("of " << seeds << ": distance " << inside_distance << ", speed " << inside_speed);
  CHECK(found >= seeds - 2);
  CHECK(inside_distance >= 11);
  CHECK(inside_speed >= 11);
}

TEST_CASE("pass-by: an engine heard from its own footplate never passes", "[dsp]") {
  int found = 0;
  for (std::uint64_t seed = 1; seed <= 6; ++seed) {
    WheelRun run;
    run.seed = seed;
    run.seconds = 50.0;
    run.angle_sigma_deg = 1.5;
    run.time_sigma_s = 0.003;
    const double start = 4.0 + static_cast<double>(seed);
    for (const double change : {0.0, 0.12, -0.06}) {
      run.speed_m_s = [=](double t) { return start + change * t; };
      found += found_in(run, wheel_of(run)) ? 1 : 0;
    }
    // The regulator opened and shut again.
    run.speed_m_s = [=](double t) {
      return start + 0.12 * std::min(t, 20.0) - 0.08 * std::max(0.0, t - 30.0);
    };
    found += found_in(run, wheel_of(run)) ? 1 : 0;
  }
  CHECK(found == 0);
  // A dab of the brake that slows it as Doppler would seem to: no beat grows louder for that.
  WheelRun dab = passing(40.0, 6.0, 2);
  REQUIRE(found_in(dab, wheel_of(dab)));
  dab.strength = [](double) { return 0.8; };
  CHECK_FALSE(found_in(dab, wheel_of(dab)));
}

TEST_CASE("pass-by: no beats, and a wheel out of range", "[dsp]") {
  const Result<std::optional<PassBy>> none = find_pass_by({}, {});
  REQUIRE(none);
  CHECK_FALSE(none->has_value());
  WheelParams wheel;
  wheel.beats_per_rev = 25;
  CHECK(find_pass_by({}, wheel).error().place == "beats per revolution");
}
