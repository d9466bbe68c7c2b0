// SPDX-License-Identifier: GPL-3.0-or-later
// Drift of level and of tone that a loop is left with.
#include "loop_sounds.h"
#include "support/catch.h"

#include "fourbeat/base/random.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/dsp/seam.h"

#include <algorithm>
#include <array>
#include <cmath>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_sounds;
using namespace fourbeat::loop_sounds::at_16_khz;

namespace {

std::size_t frames_of(double seconds) {
  return static_cast<std::size_t>(seconds * rate);
}

SeamReport whole(const std::vector<float>& samples) {
  JobControl job;
  Result<SeamReport> report = measure_seam(
      pcm_of({samples}, rate), loop_of(0, static_cast<std::int64_t>(samples.size())), 1, job);
  REQUIRE(report);
  return *report;
}

/// What a drift of `db` over the whole of a loop without a fade is told as: from the middle of the
/// first quarter to that of the last of what lies beside the seam's 100 ms and the windows' 55 ms.
double told(double db, double seconds) {
  return 0.75 * db * (seconds - 0.155) / seconds;
}

bool clean(const LoopCandidate& candidate) {
  return candidate.seam.state == SeamState::clean;
}

}  // namespace

TEST_CASE("seam: a fall or rise of level over the loop is told, and never clean", "[dsp]") {
  for (const double seconds : {1.2, 4.0}) {
    for (const double db : {-6.0, 2.5}) {
      std::vector<float> samples = noise(frames_of(seconds), 5);
      shape(samples, rate, [&](double t) { return std::pow(10.0, db * t / seconds / 20.0); });
      const SeamReport report = whole(samples);
      CHECK(report.level_drift_db == Approx(told(db, seconds)).margin(0.2 + 0.1 * std::abs(db)));
      CHECK(report.tone_drift_db == 0.0);
      CHECK(report.state != SeamState::clean);
    }
  }
}

TEST_CASE("seam: a drift of tone is told apart from one of level", "[dsp]") {
  for (const double seconds : {1.5, 4.0}) {
    for (const double db : {-6.0, 6.0}) {
      const SeamReport report =
          whole(two_bands(seconds, 7, [&](double t) { return db * t / seconds; }));
      CHECK(report.tone_drift_db == Approx(told(db, seconds)).margin(0.2 + 0.1 * std::abs(db)));
      CHECK(report.state != SeamState::clean);
    }
    const SeamReport even = whole(two_bands(seconds, 7, [](double) { return 0.0; }));
    CHECK(even.level_drift_db == 0.0);
    CHECK(even.tone_drift_db == 0.0);
  }
}

TEST_CASE("seam: a step near the loop's start or end is told, and never clean", "[dsp]") {
  for (const double seconds : {2.0, 4.0}) {
    for (const double at : {0.14, 0.2, 0.8, 0.85}) {
      for (const double db : {-3.0, 3.0}) {
        CAPTURE(seconds, at, db);
        const auto step = [&](double t) { return t < at * seconds ? 0.0 : db; };
        std::vector<float> louder = noise(frames_of(seconds), 11);
        shape(louder, rate, [&](double t) { return std::pow(10.0, step(t) / 20.0); });
        const SeamReport level = whole(louder);
        CHECK(level.level_drift_db == Approx(db).margin(0.8));
        CHECK(level.tone_drift_db == 0.0);
        CHECK(level.state != SeamState::clean);
        const SeamReport tone = whole(two_bands(seconds, 12, step));
        CHECK(tone.tone_drift_db == Approx(db).margin(0.9));
        CHECK(tone.state != SeamState::clean);
      }
    }
  }
}

TEST_CASE("seam: one octave that drifts against the others is told, with which", "[dsp]") {
  for (const double seconds : {1.5, 4.0}) {
    for (const double db : {-6.0, 6.0}) {
      CAPTURE(seconds, db);
      // 1.26 kHz lies in the middle of the five octaves that sound.
      const SeamReport report =
          whole(one_band(seconds, 13, 891.0, 1778.0, [&](double t) { return db * t / seconds; }));
      CHECK(report.tone_drift_db == 0.0);
      CHECK(report.octave_drift_db == Approx(told(db, seconds)).margin(0.2 + 0.15 * std::abs(db)));
      CHECK(report.octave_hz == Approx(1260.0));
      CHECK_FALSE(report.steady());
      CHECK(report.state != SeamState::clean);
      const SeamReport even =
          whole(one_band(seconds, 13, 891.0, 1778.0, [](double) { return 0.0; }));
      CHECK(even.steady());
    }
  }
}

TEST_CASE("seam: in even noise and in strokes nothing drifts", "[dsp]") {
  int drifts = 0;
  int loops = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    for (const double share : {1.0, 0.1}) {
      const SeamReport report = whole(dull_noise(frames_of(1.2), seed, share));
      drifts += report.steady() ? 0 : 1;
      ++loops;
    }
  }
  CHECK(loops == 40);
  CHECK(drifts <= 2);  // by chance: of either one in a hundred
  // Nor do a few even strokes, wherever the loop cuts them.
  for (const double seconds : {2.4, 2.9, 3.2, 4.5}) {
    const std::vector<float> strokes = pump(seconds, rate, 0.8, 0.02, 3).samples;
    CHECK(whole(strokes).steady());
  }
}

TEST_CASE("seam: beats that grow softer over the loop are told, too", "[dsp]") {
  std::vector<float> beats = pump(4.0, rate, 0.2, 0.0, 3).samples;
  CHECK(whole(beats).period_s);
  CHECK(whole(beats).level_drift_db == 0.0);
  shape(beats, rate, [](double t) { return std::pow(10.0, -8.0 * t / 4.0 / 20.0); });
  CHECK(whole(beats).level_drift_db == Approx(told(-8.0, 4.0)).margin(1.0));
}

TEST_CASE("seam: a level that flutters is no drift, though its quarters differ by chance",
          "[dsp]") {
  int drifts = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    Random random(seed + 90);
    std::array<double, 30> levels_db{};  // one for every 50 ms
    for (double& level : levels_db)
      level = 4.0 * random.normal();
    std::vector<float> samples = noise(frames_of(1.5), seed);
    shape(samples, rate, [&](double t) {
      return std::pow(10.0, levels_db.at(static_cast<std::size_t>(t / 0.05)) / 20.0);
    });
    drifts += whole(samples).steady() ? 0 : 1;
  }
  CHECK(drifts <= 2);
}

TEST_CASE("loop finder: where the tone drifts fast, no loop is clean, and the reason says so",
          "[dsp]") {
  for (const double db_a_second : {-4.5, 4.5}) {
    const audio::Pcm pcm =
        pcm_of({two_bands(4.0, 3, [&](double t) { return 8.0 + db_a_second * (t - 2.0); })}, rate);
    const LoopSearch search = found(pcm, {1.5, 3.0, 5, 1});
    REQUIRE_FALSE(search.candidates.empty());
    CHECK(std::none_of(search.candidates.begin(), search.candidates.end(), clean));
    for (const LoopCandidate& one : search.candidates) {
      CHECK(one.loop.octave_drift_db.empty());
      if (one.seam.tone_drift_db != 0.0) CHECK(one.seam.tone_drift_db * db_a_second > 0.0);
    }
    INFO(search.reason);
    CHECK(search.reason.find(db_a_second < 0.0 ? "grows duller by" : "grows brighter by") !=
          std::string::npos);
  }
}

TEST_CASE("loop finder: loops whose tone drifts come after those whose tone stays", "[dsp]") {
  const audio::Pcm pcm =
      pcm_of({two_bands(14.0, 4, [](double t) { return t < 6.0 ? 0.0 : -1.5 * (t - 6.0); })}, rate);
  const LoopSearch search = found(pcm, {3.0, 6.0, 6, 1});
  REQUIRE_FALSE(search.candidates.empty());
  CHECK(clean(search.candidates.front()));
  CHECK(search.candidates.front().loop.range.end.value() < static_cast<std::int64_t>(7 * second));
  CHECK(search.reason.empty());
  bool drifting = false;
  for (const LoopCandidate& one : search.candidates) {
    const bool drifts = one.seam.tone_drift_db != 0.0 || one.seam.level_drift_db != 0.0 ||
                        one.loop.drift_db != 0.0 || !one.loop.octave_drift_db.empty();
    CHECK((drifts || !drifting));  // once one drifts, all that follow do
    drifting = drifting || drifts;
  }
}
