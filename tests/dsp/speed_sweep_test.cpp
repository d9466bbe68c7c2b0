// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/wandering.h"
#include "support/wheel_runs.h"

#include "fourbeat/base/speed_units.h"
#include "fourbeat/dsp/pass_by.h"
#include "fourbeat/dsp/speed.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <string>

/// Figures over many runs, for docs/speed.md: run by name, "[.sweep]".

using namespace fourbeat;
using namespace fourbeat::dsp;
using fourbeat::tests::beats_of;
using fourbeat::tests::wheel_of;
using fourbeat::tests::WheelRun;

namespace {

struct Errors {
  std::vector<double> speed_kmh;
  double inside_speed = 0.0;
  double inside_acceleration = 0.0;

  void add(const WheelRun& run) {
    const Result<SpeedCurve> speed = measure_speed(beats_of(run), wheel_of(run));
    REQUIRE(speed);
    for (double t = 2.0; t < run.seconds - 2.0; t += 0.7) {
      const std::optional<SpeedPoint> point = speed->at(1.0 + t);
      if (!point) continue;
      const double off = *point->speed_kmh - kmh_of_m_s(run.speed_m_s(t));
      const double slope = (run.speed_m_s(t + 0.01) - run.speed_m_s(t - 0.01)) / 0.02;
      speed_kmh.push_back(std::fabs(off));
      inside_speed += std::fabs(off) <= *point->speed_sd_kmh ? 1.0 : 0.0;
      inside_acceleration +=
          std::fabs(*point->acceleration_m_s2 - slope) <= *point->acceleration_sd_m_s2 ? 1.0 : 0.0;
    }
  }
  double tell(const std::string& name) {
    std::sort(speed_kmh.begin(), speed_kmh.end());
    const auto n = static_cast<double>(speed_kmh.size());
    std::printf(
        "%-28s median %.2f, 95 %% %.2f km/h; within one sd: speed %.2f, acceleration %.2f\n",
        name.c_str(), speed_kmh[speed_kmh.size() / 2], speed_kmh[speed_kmh.size() * 95 / 100],
        inside_speed / n, inside_acceleration / n);
    return inside_speed / n;
  }
};

WheelRun passing(double kmh, double distance_m, double beat_ms, std::uint64_t seed) {
  WheelRun run;
  run.seed = seed;
  run.angle_sigma_deg = 1.0;
  run.time_sigma_s = beat_ms / 1000.0;
  run.speed_m_s = [kmh](double) { return m_s_of_kmh(kmh); };
  run.seconds = std::min(60.0, 300.0 / m_s_of_kmh(kmh));
  tests::hear_from_lineside(run, distance_m, 0.5 * m_s_of_kmh(kmh) * run.seconds,
                            speed_of_sound_m_s(15.0));
  return run;
}

}  // namespace

TEST_CASE("speed: errors and coverage over many runs", "[dsp][.sweep]") {
  for (const double beat_ms : {1.0, 3.0, 8.0}) {
    Errors steady;
    Errors changing;
    Errors uneven;
    for (std::uint64_t seed = 1; seed <= 40; ++seed) {
      WheelRun run;
      run.seed = seed;
      run.angle_sigma_deg = 1.5;
      run.time_sigma_s = beat_ms / 1000.0;
      const double v = 3.0 + 0.4 * static_cast<double>(seed);
      run.speed_m_s = [v](double) { return v; };
      steady.add(run);
      run.speed_m_s = tests::wandering_speed(v, seed);
      changing.add(run);
      run.angles_deg = {0.0, 97.0, 176.0, 274.0};
      uneven.add(run);
    }
    const std::string name = ", " + std::to_string(static_cast<int>(beat_ms)) + " ms";
    CHECK(steady.tell("steady" + name) > 0.6);
    CHECK(changing.tell("changing" + name) > 0.58);
    CHECK(uneven.tell("changing, uneven" + name) > 0.55);
  }
}

TEST_CASE("pass-by: found and not found over many runs", "[dsp][.sweep]") {
  for (const double beat_ms : {1.0, 3.0, 8.0}) {
    for (const double kmh : {20.0, 40.0, 70.0}) {
      int found = 0;
      int inside_distance = 0;
      int inside_speed = 0;
      double worst_kmh = 0.0;
      constexpr int runs = 30;
      for (int seed = 1; seed <= runs; ++seed) {
        const double distance_m = 3.0 + seed % 10 * 2.0;
        const WheelRun run = passing(kmh, distance_m, beat_ms, static_cast<std::uint64_t>(seed));
        const Result<std::optional<PassBy>> pass_by = find_pass_by(beats_of(run), wheel_of(run));
        REQUIRE(pass_by);
        if (!*pass_by) continue;
        ++found;
        inside_distance +=
            std::fabs((*pass_by)->distance_m - distance_m) <= (*pass_by)->distance_sd_m ? 1 : 0;
        inside_speed += std::fabs((*pass_by)->speed_kmh - kmh) <= (*pass_by)->speed_sd_kmh ? 1 : 0;
        worst_kmh = std::max(worst_kmh, std::fabs((*pass_by)->speed_kmh - kmh));
      }
      std::printf(
          "pass-by %2.0f km/h, %.0f ms: found %d of %d, within one sd: distance %d, speed "
          "%d, worst speed %.2f km/h off\n",
          kmh, beat_ms, found, runs, inside_distance, inside_speed, worst_kmh);
      CHECK(found >= runs / 5);
    }
  }
  int false_alarms = 0;
  int runs = 0;
  for (const double beat_ms : {1.0, 3.0, 8.0}) {
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
      WheelRun run;
      run.seed = seed;
      run.seconds = 60.0;
      run.angle_sigma_deg = 1.5;
      run.time_sigma_s = beat_ms / 1000.0;
      const double v = 4.0 + 0.3 * static_cast<double>(seed % 40);
      if (seed % 3 == 0) {
        run.speed_m_s = tests::wandering_speed(v, seed);
      } else if (seed % 3 == 1) {
        // Brakes on and off within seconds.
        const double on_s = 12.0 + static_cast<double>(seed % 7) * 4.0;
        run.speed_m_s = [=](double t) {
          return v - 0.4 * std::clamp(t - on_s, 0.0, 1.0 + static_cast<double>(seed % 5) * 0.5);
        };
      } else {
        run.speed_m_s = [=](double t) { return v + 0.08 * std::min(t, 30.0); };
      }
      const Result<std::optional<PassBy>> pass_by = find_pass_by(beats_of(run), wheel_of(run));
      REQUIRE(pass_by);
      ++runs;
      false_alarms += pass_by->has_value() ? 1 : 0;
    }
  }
  std::printf("no pass-by: %d false alarms of %d\n", false_alarms, runs);
  CHECK(false_alarms * 20 <= runs);
}
