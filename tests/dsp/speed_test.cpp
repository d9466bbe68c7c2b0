// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/speed.h"

#include "support/catch.h"
#include "support/wandering.h"
#include "support/wheel_runs.h"

#include "fourbeat/base/speed_units.h"

#include <cmath>
#include <limits>
#include <string>

using namespace fourbeat;
using namespace fourbeat::dsp;
using fourbeat::tests::beats_of;
using fourbeat::tests::wheel_of;
using fourbeat::tests::WheelRun;

namespace {

SpeedCurve speed_of(const BeatTrack& track, const WheelParams& wheel) {
  const Result<SpeedCurve> speed = measure_speed(track, wheel);
  REQUIRE(speed);
  return *speed;
}

/// Greatest error of the speed over the run, in km/h, `ends` seconds off either end.
double worst_kmh(const SpeedCurve& speed, const WheelRun& run, double ends_s) {
  double worst = 0.0;
  for (double t = ends_s; t < run.seconds - ends_s; t += 0.1) {
    const std::optional<SpeedPoint> point = speed.at(1.0 + t);
    REQUIRE(point);
    worst = std::max(worst, std::fabs(*point->speed_kmh - kmh_of_m_s(run.speed_m_s(t))));
  }
  return worst;
}

/// Shares of moments whose true speed and acceleration lie within one standard deviation.
struct Coverage {
  double speed = 0.0;
  double acceleration = 0.0;
};
template <class MakeRun>
Coverage coverage(const MakeRun& make_run, int seeds) {
  Coverage inside;
  double all = 0.0;
  for (int seed = 1; seed <= seeds; ++seed) {
    WheelRun run = make_run(static_cast<std::uint64_t>(seed));
    run.seed = static_cast<std::uint64_t>(seed);
    const SpeedCurve speed = speed_of(beats_of(run), wheel_of(run));
    for (double t = 1.0; t < run.seconds - 1.0; t += 0.7) {
      const std::optional<SpeedPoint> point = speed.at(1.0 + t);
      REQUIRE(point);
      const double off = *point->speed_kmh - kmh_of_m_s(run.speed_m_s(t));
      const double slope = (run.speed_m_s(t + 0.01) - run.speed_m_s(t - 0.01)) / 0.02;
      inside.speed += std::fabs(off) <= *point->speed_sd_kmh ? 1.0 : 0.0;
      inside.acceleration +=
          std::fabs(*point->acceleration_m_s2 - slope) <= *point->acceleration_sd_m_s2 ? 1.0 : 0.0;
      all += 1.0;
    }
  }
  return {inside.speed / all, inside.acceleration / all};
}

}  // namespace

TEST_CASE("speed: a constant speed is told to a hundredth, from walking pace to a run", "[dsp]") {
  for (const double kmh : {6.0, 25.0, 60.0, 96.56064}) {
    WheelRun run;
    run.driver_diameter_mm = 63.0 * 25.4;
    run.speed_m_s = [kmh](double) { return m_s_of_kmh(kmh); };
    const SpeedCurve speed = speed_of(beats_of(run), wheel_of(run));
    INFO(kmh << " km/h");
    CHECK(worst_kmh(speed, run, 3.0) < 0.01 * kmh);
    const std::optional<SpeedPoint> point = speed.at(20.0);
    REQUIRE(point);
    CHECK(std::fabs(*point->acceleration_m_s2) < 0.01);
  }
}

TEST_CASE("speed: uniform acceleration and coasting are followed, and their rates told", "[dsp]") {
  WheelRun run;
  run.angle_sigma_deg = 1.0;
  run.time_sigma_s = 0.002;
  run.speed_m_s = [](double t) { return 2.0 + 0.25 * t; };
  SpeedCurve speed = speed_of(beats_of(run), wheel_of(run));
  CHECK(worst_kmh(speed, run, 1.0) < 0.6);
  CHECK(speed.at(21.0)->acceleration_m_s2.value_or(9.0) == Approx(0.25).margin(0.03));
  // Coasting against a resistance that falls with speed: v' = -(0.02 + 0.004 v), in closed form.
  run.speed_m_s = [](double t) { return (14.0 + 5.0) * std::exp(-0.004 * t) - 5.0; };
  speed = speed_of(beats_of(run), wheel_of(run));
  CHECK(worst_kmh(speed, run, 1.0) < 0.6);
  const double slope = -0.004 * 19.0 * std::exp(-0.004 * 20.0);
  CHECK(speed.at(21.0)->acceleration_m_s2.value_or(9.0) == Approx(slope).margin(0.03));
}

TEST_CASE("speed: a start from rest is followed from its first beats", "[dsp]") {
  WheelRun run;
  run.seconds = 30.0;
  run.time_sigma_s = 0.003;
  run.speed_m_s = [](double t) { return 0.3 * t; };
  const SpeedCurve speed = speed_of(beats_of(run), wheel_of(run));
  for (double t = 4.0; t < 29.0; t += 0.5)
    CHECK(speed.at(1.0 + t)->speed_kmh.value_or(0.0) == Approx(1.08 * t).margin(0.8));
}

TEST_CASE("speed: uneven beats do not make it limp, whether their angles are given or not",
          "[dsp]") {
  WheelRun run;
  run.angles_deg = {0.0, 97.0, 176.0, 274.0};
  run.seconds = 60.0;
  run.time_sigma_s = 0.001;
  run.speed_m_s = [](double t) { return 6.0 + 0.05 * t; };
  for (const bool positions : {true, false}) {
    run.with_positions = positions;
    WheelParams wheel = wheel_of(run);
    const SpeedCurve measured = speed_of(beats_of(run), wheel);
    CHECK(worst_kmh(measured, run, 2.0) < 0.4);
    REQUIRE(measured.measured_angles_deg().size() == 4);
    for (std::size_t p = 0; p < 4; ++p)
      CHECK(measured.measured_angles_deg()[p] == Approx(run.angles_deg[p]).margin(1.0));
    if (!positions) continue;
    wheel.beat_angles_deg = run.angles_deg;
    const SpeedCurve given = speed_of(beats_of(run), wheel);
    CHECK(worst_kmh(given, run, 2.0) < 0.4);
    CHECK(given.measured_angles_deg().empty());
  }
}

TEST_CASE("speed: a beat too many, too few, or far off its place moves it little", "[dsp]") {
  WheelRun run;
  run.time_sigma_s = 0.002;
  run.speed_m_s = [](double t) { return 8.0 + 0.08 * t; };
  const BeatTrack good = beats_of(run);
  const double even = worst_kmh(speed_of(good, wheel_of(run)), run, 2.0);
  REQUIRE(even < 0.3);
  const auto worst_of = [&](const BeatTrack& track) {
    return worst_kmh(speed_of(track, wheel_of(run)), run, 2.0);
  };
  BeatTrack missing = good;
  missing.beats.erase(missing.beats.begin() + 60, missing.beats.begin() + 62);
  missing.beats.erase(missing.beats.begin() + 120);
  CHECK(worst_of(missing) < 0.5);
  BeatTrack extra = good;
  for (const std::size_t at : {std::size_t{50}, std::size_t{110}}) {
    Beat beat = extra.beats[at];
    beat.time_s = 0.6 * extra.beats[at].time_s + 0.4 * extra.beats[at + 1].time_s;
    beat.frame = FrameIndex(std::llround(beat.time_s * run.sample_rate_hz));
    extra.beats.insert(extra.beats.begin() + static_cast<std::ptrdiff_t>(at) + 1, beat);
  }
  CHECK(worst_of(extra) < 0.5);
  BeatTrack strayed = good;
  for (const std::size_t at : {std::size_t{40}, std::size_t{90}, std::size_t{150}})
    strayed.beats[at].time_s += 0.035;
  CHECK(worst_of(strayed) < 0.8);
}

TEST_CASE("speed: one standard deviation holds the truth about two times in three", "[dsp]") {
  const auto steady = [](std::uint64_t seed) {
    WheelRun run;
    run.angle_sigma_deg = 1.5;
    run.time_sigma_s = 0.003;
    run.speed_m_s = [seed](double) { return 5.0 + static_cast<double>(seed % 5) * 2.0; };
    return run;
  };
  const auto changing = [](std::uint64_t seed) {
    WheelRun run;
    run.angle_sigma_deg = 1.5;
    run.time_sigma_s = 0.003;
    run.speed_m_s = tests::wandering_speed(11.0, seed);
    return run;
  };
  const Coverage calm = coverage(steady, 12);
  INFO("steady: speed " << calm.speed << ", acceleration " << calm.acceleration);
  CHECK(calm.speed > 0.60);
  const Coverage lively = coverage(changing, 12);
  INFO("changing: speed " << lively.speed << ", acceleration " << lively.acceleration);
  CHECK(lively.speed > 0.58);
  CHECK(lively.speed < 0.85);
  CHECK(lively.acceleration > 0.55);
}

TEST_CASE("speed: where beats fuse their rate tells it, less surely", "[dsp]") {
  WheelRun run;
  run.seconds = 15.0;
  run.time_sigma_s = 0.001;
  run.speed_m_s = [](double t) { return 26.0 + 0.1 * t; };
  BeatTrack track = beats_of(run);
  const SpeedCurve apart = speed_of(track, wheel_of(run));
  track.stretches[0].fused = true;
  for (Beat& beat : track.beats) {
    beat.confidence = 0.08;
    beat.position.reset();
  }
  const SpeedCurve fused = speed_of(track, wheel_of(run));
  CHECK(worst_kmh(fused, run, 1.0) < 1.5);
  for (double t = 3.0; t < 14.0; t += 1.0)
    CHECK(*fused.at(t)->speed_sd_kmh > 2.0 * *apart.at(t)->speed_sd_kmh);
  CHECK(fused.measured_angles_deg().empty());
}

TEST_CASE("speed: where no stretch is there is none, and without a diameter there are turns",
          "[dsp]") {
  WheelRun run;
  run.seconds = 10.0;
  const BeatTrack track = beats_of(run);
  WheelParams wheel = wheel_of(run);
  wheel.driver_diameter_mm.reset();
  const SpeedCurve speed = speed_of(track, wheel);
  CHECK_FALSE(speed.at(0.5));
  CHECK_FALSE(speed.at(12.0));
  REQUIRE(speed.at(5.0));
  CHECK_FALSE(speed.at(5.0)->speed_kmh);
  CHECK(speed.at(5.0)->turns_per_s ==
        Approx(10.0 / wheel_circumference_m(run.driver_diameter_mm)).epsilon(0.002));
  REQUIRE(speed.spans().size() == 1);
  const std::vector<SpeedPoint> points = speed.points(0.5);
  CHECK(points.front().time_s == speed.spans()[0].from_s);
  CHECK(points.back().time_s == speed.spans()[0].to_s);
  CHECK(speed_of({}, wheel).spans().empty());
  BeatTrack two = track;
  two.beats.resize(2);
  two.stretches[0].range.end = two.beats.back().frame + FrameCount(1);
  CHECK(speed_of(two, wheel).spans().empty());
}

TEST_CASE("speed: a wheel out of range is refused by name", "[dsp]") {
  const auto place_of = [](const WheelParams& wheel) {
    const Result<SpeedCurve> speed = measure_speed({}, wheel);
    return speed ? std::string() : speed.error().place;
  };
  WheelParams wheel;
  CHECK(place_of(wheel).empty());
  wheel.driver_diameter_mm = std::numeric_limits<double>::quiet_NaN();
  CHECK(place_of(wheel) == "driver diameter");
  wheel = {};
  wheel.beats_per_rev = 0;
  CHECK(place_of(wheel) == "beats per revolution");
  wheel = {};
  wheel.beat_angles_deg = {0.0, 90.0, 80.0, 270.0};
  CHECK(place_of(wheel) == "beat angles");
  wheel.beat_angles_deg = {0.0};
  CHECK(place_of(wheel) == "beat angles");
  wheel = {};
  wheel.air_celsius = 100.0;
  CHECK(place_of(wheel) == "air temperature");
}
