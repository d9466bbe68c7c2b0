// SPDX-License-Identifier: GPL-3.0-or-later
// Drift of tone that is taken out of a loop.
#include "loop_sounds.h"
#include "support/catch.h"

#include "fourbeat/dsp/clean.h"
#include "fourbeat/dsp/crossfade.h"
#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/dsp/seam.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <iostream>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_sounds;
using namespace fourbeat::loop_sounds::at_16_khz;

namespace {

LoopSpec drifting(LoopSpec loop, std::vector<double> octave_drift_db, double drift_db = 0.0) {
  loop.drift_db = drift_db;
  loop.octave_drift_db = std::move(octave_drift_db);
  return loop;
}

double length_s(const LoopCandidate& candidate) {
  return static_cast<double>(candidate.loop.range.length().value()) / rate;
}

/// Level in dB of `seconds` from a frame on.
double level_db(const std::vector<float>& samples, std::int64_t from, double seconds) {
  double sum = 0.0;
  for (std::int64_t i = from; i < from + std::llround(seconds * rate); ++i) {
    const double x = samples[static_cast<std::size_t>(i)];
    sum += x * x;
  }
  return 10.0 * std::log10(sum / (seconds * rate));
}

bool clean(const LoopCandidate& candidate) {
  return candidate.seam.state == SeamState::clean;
}

/// Treble (from 2.5 kHz) against bass (the rest) of a loop's last second less that of its first.
double treble_change_db(const audio::Pcm& rendered, const FrameRange& loop) {
  std::vector<float> treble = rendered.channels[0];
  REQUIRE(high_pass(treble, rate, 2500.0, 8));
  std::vector<float> bass = rendered.channels[0];
  for (int pole = 0; pole < 6; ++pole) {
    double y = 0.0;
    for (float& x : bass) {
      y += 0.2 * (static_cast<double>(x) - y);
      x = static_cast<float>(y);
    }
  }
  const std::int64_t start = loop.start.value();
  const std::int64_t end = loop.end.value() - static_cast<std::int64_t>(second);
  return level_db(treble, end, 1.0) - level_db(bass, end, 1.0) -
         (level_db(treble, start, 1.0) - level_db(bass, start, 1.0));
}

/// A whistle of four harmonics over a faint hiss; each octave of it falls by so many dB a second.
std::vector<float> darkening_whistle(double seconds, double db_a_second_and_octave) {
  std::vector<float> out = noise(static_cast<std::size_t>(seconds * rate), 8);
  for (float& x : out)
    x *= 0.02F;
  for (int octave = 0; octave < 4; ++octave) {
    const double hz = 353.0 * std::exp2(octave);
    for (std::size_t i = 0; i < out.size(); ++i) {
      const double t = static_cast<double>(i) / rate;
      const double db = -6.0 * octave + db_a_second_and_octave * octave * t;
      out[i] += static_cast<float>(0.2 * std::pow(10.0, db / 20.0) *
                                   std::sin(2.0 * std::numbers::pi * hz * t));
    }
  }
  return out;
}

}  // namespace

TEST_CASE("octave drift: each octave is brought to one level, and runs on through the wrap",
          "[dsp]") {
  // Tones in the middle of octaves, of whole periods in a second, that drift each by its own.
  const std::vector<double> drifts_db = {3.0, -2.0, 0.5, -6.0, -4.0};
  const std::array<double, 5> tones_hz = {200.0, 700.0, 1400.0, 2800.0, 5600.0};
  const auto steady = [&](std::size_t band, std::int64_t i) {
    return 0.1 *
           std::sin(2.0 * std::numbers::pi * tones_hz.at(band) * static_cast<double>(i) / rate);
  };
  const auto start = static_cast<std::int64_t>(second);
  for (const bool at_start : {false, true}) {
    for (const double level_drift_db : {0.0, 2.0}) {
      std::vector<float> samples(3 * second);
      for (std::size_t i = 0; i < samples.size(); ++i) {
        const auto at = static_cast<std::int64_t>(i);
        const double place = static_cast<double>(at - start) / static_cast<double>(second);
        for (std::size_t b = 0; b < tones_hz.size(); ++b) {
          samples[i] += static_cast<float>(
              steady(b, at) * std::pow(10.0, (drifts_db[b] + level_drift_db) * place / 20.0));
        }
      }
      audio::Pcm pcm = pcm_of({samples}, rate);
      const LoopSpec loop =
          drifting(loop_of(start, 2 * start, 800, at_start), drifts_db, level_drift_db);
      REQUIRE(blend_loop(pcm, loop));
      // Everywhere, the last and the first frame included, to 60 dB under a tone.
      for (std::int64_t i = start; i < 2 * start; ++i) {
        double wanted = 0.0;
        for (std::size_t b = 0; b < tones_hz.size(); ++b)
          wanted += steady(b, i);
        REQUIRE(pcm.channels[0][static_cast<std::size_t>(i)] == Approx(wanted).margin(1e-4));
      }
    }
  }
}

TEST_CASE("octave drift: without one nothing changes, and the loop's first frame never does",
          "[dsp]") {
  const std::vector<float> original = noise(second, 3);
  const LoopSpec loop = loop_of(3000, 9000, 0);
  audio::Pcm none = pcm_of({original}, rate);
  REQUIRE(blend_loop(none, drifting(loop, {0.0, 0.0, 0.0})));
  CHECK(none.channels[0] == original);
  audio::Pcm some = pcm_of({original}, rate);
  REQUIRE(blend_loop(some, drifting(loop, {2.0, -1.0, -3.0})));
  CHECK(std::equal(original.begin(), original.begin() + 3001, some.channels[0].begin()));
  CHECK(some.channels[0][5000] != original[5000]);
  // One drift of all octaves is a drift of level.
  audio::Pcm octaves = pcm_of({original}, rate);
  audio::Pcm level = pcm_of({original}, rate);
  REQUIRE(blend_loop(octaves, drifting(loop, {4.0, 4.0, 4.0, 4.0, 4.0})));
  REQUIRE(blend_loop(level, drifting(loop, {}, 4.0)));
  for (std::size_t i = 0; i < original.size(); ++i)
    REQUIRE(octaves.channels[0][i] == Approx(level.channels[0][i]).margin(1e-6));
}

TEST_CASE("octave drift: a loop is the same out of its needed material as out of all", "[dsp]") {
  const std::vector<float> original = noise(2 * second, 4);
  struct Case {
    std::int64_t start = 0;
    std::int64_t end = 0;
    std::int64_t fade = 0;
    bool at_start = false;
  };
  const auto all = static_cast<std::int64_t>(original.size());
  for (const Case& one :
       {Case{9000, 21000, 1000, false}, Case{1000, 9000, 1000, false}, Case{0, 9000, 700, true},
        Case{9000, all, 700, false}, Case{9000, 17000, 0, false}}) {
    LoopSpec loop =
        drifting(loop_of(one.start, one.end, one.fade, one.at_start), {1.0, -2.0, -3.0}, 1.5);
    audio::Pcm whole = pcm_of({original}, rate);
    turn_to_blend(whole, loop);
    const FrameRange needed = needed_material(loop, rate, whole.frames());
    const std::int64_t from = needed.start.value();
    CHECK(from == std::max<std::int64_t>(0, one.start - (one.at_start ? 0 : one.fade) - 320));
    CHECK(needed.end.value() == std::min(all, one.end + (one.at_start ? one.fade : 0) + 320));
    audio::Pcm cut = pcm_of(
        {{whole.channels[0].begin() + from, whole.channels[0].begin() + needed.end.value()}}, rate);
    REQUIRE(blend_loop(whole, loop));
    loop.range = frame_range(one.start - from, one.end - from);
    REQUIRE(blend_loop(cut, loop));
    CHECK(std::equal(whole.channels[0].begin() + one.start, whole.channels[0].begin() + one.end,
                     cut.channels[0].begin() + (one.start - from)));
  }
}

TEST_CASE("octave drift: what cannot be is refused", "[dsp]") {
  const std::vector<float> original = noise(second, 5);
  for (const std::vector<double>& drifts_db :
       {std::vector<double>(7, 1.0), std::vector<double>{1.0, 12.5},
        std::vector<double>{std::nan("")}}) {
    audio::Pcm pcm = pcm_of({original}, rate);
    const Status status = blend_loop(pcm, drifting(loop_of(3000, 9000, 0), drifts_db));
    REQUIRE_FALSE(status);
    CHECK(status.error().code == ErrorCode::bad_argument);
    CHECK(status.error().place == "octave_drift_db");
    CHECK(pcm.channels[0] == original);
  }
}

TEST_CASE("octave drift: one figure for all says how much brighter the end is", "[dsp]") {
  CHECK(tone_drift_db({}) == 0.0);
  CHECK(tone_drift_db({3.0}) == 0.0);
  CHECK(tone_drift_db({-1.0, 2.0}) == Approx(3.0));
  CHECK(tone_drift_db({1.0, 2.0, 9.0, -2.0, -4.0}) == Approx(-4.5));  // less the middle one
  CHECK(tone_tells({}));
  CHECK(tone_tells({-1.0, 2.0}));
  CHECK_FALSE(tone_tells({1.0, 2.0, 9.0, -2.0, -4.0}));
  CHECK(octave_drift_spread_db({}) == 0.0);
  CHECK(octave_drift_spread_db({1.0, 2.0, 9.0, -2.0, -4.0}) == Approx(13.0));
}

TEST_CASE("loop finder: noise whose treble falls or rises is mended and told", "[dsp]") {
  for (const double db_a_second : {-0.8, -2.0, 1.5}) {
    CAPTURE(db_a_second);
    const audio::Pcm pcm =
        pcm_of({two_bands(8.0, 3, [&](double t) { return 6.0 + db_a_second * (t - 4.0); })}, rate);
    const LoopSearch search = found(pcm, {3.5, 6.0, 5, 1});
    REQUIRE_FALSE(search.candidates.empty());
    const LoopCandidate& best = search.candidates.front();
    CHECK(best.seam.state == SeamState::clean);
    CHECK(best.seam.level_drift_db == 0.0);
    CHECK(best.seam.tone_drift_db == 0.0);
    CHECK(search.reason.empty());
    // Two octaves lie above the change, two below it.
    const double truth_db = db_a_second * length_s(best);
    CHECK(tone_drift_db(best.loop.octave_drift_db) ==
          Approx(truth_db).margin(0.3 + 0.15 * std::abs(truth_db)));
    audio::Pcm rendered = pcm;
    const double before_db = treble_change_db(rendered, best.loop.range);
    CHECK(before_db == Approx(truth_db - db_a_second).margin(0.6));
    REQUIRE(blend_loop(rendered, best.loop));
    CHECK(std::abs(treble_change_db(rendered, best.loop.range)) < 0.6);
  }
}

TEST_CASE("loop finder: an octave in the middle that drifts alone is mended and told", "[dsp]") {
  for (const double db_a_second : {-1.0, 1.5}) {
    CAPTURE(db_a_second);
    const audio::Pcm pcm = pcm_of(
        {one_band(8.0, 3, 1000.0, 2000.0, [&](double t) { return db_a_second * (t - 4.0); })},
        rate);
    const LoopSearch search = found(pcm, {3.5, 6.0, 5, 1});
    REQUIRE_FALSE(search.candidates.empty());
    const LoopCandidate& best = search.candidates.front();
    CHECK(best.seam.state == SeamState::clean);
    CHECK(best.seam.steady());
    CHECK(search.reason.empty());
    const double truth_db = db_a_second * length_s(best);
    REQUIRE(best.loop.octave_drift_db.size() == 5);
    const std::vector<double>& drifts_db = best.loop.octave_drift_db;
    for (const std::size_t other : {0U, 1U, 3U, 4U})
      CHECK(drifts_db[2] - drifts_db[other] ==
            Approx(truth_db).margin(0.4 + 0.15 * std::abs(truth_db)));
    // The same loop as it was recorded.
    LoopSpec recorded = best.loop;
    recorded.octave_drift_db.clear();
    recorded.drift_db = 0.0;
    JobControl job;
    const Result<SeamReport> before = measure_seam(pcm, recorded, 1, job);
    REQUIRE(before);
    CHECK(before->octave_drift_db * db_a_second > 0.0);
  }
}

TEST_CASE("loop finder: where one octave drifts fast, no loop is clean, and the reason says which",
          "[dsp]") {
  const audio::Pcm pcm =
      pcm_of({one_band(6.0, 3, 891.0, 1778.0, [&](double t) { return 14.0 - 4.0 * t; })}, rate);
  const LoopSearch search = found(pcm, {3.0, 4.5, 5, 1});
  REQUIRE_FALSE(search.candidates.empty());
  CHECK(std::none_of(search.candidates.begin(), search.candidates.end(), clean));
  INFO(search.reason);
  CHECK(search.reason.find("the octave about 1260 Hz falls by") != std::string::npos);
}

TEST_CASE("loop finder: a whistle that grows darker is mended", "[dsp]") {
  const audio::Pcm pcm = pcm_of({darkening_whistle(6.0, -0.5)}, rate);
  const LoopSearch search = found(pcm, {2.0, 4.0, 3, 1});
  REQUIRE_FALSE(search.candidates.empty());
  const LoopCandidate& best = search.candidates.front();
  CHECK(best.seam.state == SeamState::clean);
  CHECK(best.seam.whole_periods);
  CHECK(best.seam.tone_drift_db == 0.0);
  const std::vector<double>& drifts_db = best.loop.octave_drift_db;
  REQUIRE(drifts_db.size() == 5);
  for (std::size_t o = 1; o < 4; ++o)
    CHECK(drifts_db[o] - drifts_db[o - 1] == Approx(-0.5 * length_s(best)).margin(0.15));
}

TEST_CASE("loop finder: a change of level or colour at one moment is no drift, and is found out",
          "[dsp]") {
  for (const double at_s : {2.6, 3.0, 3.4}) {
    for (const double step_db : {-3.0, 6.0}) {
      CAPTURE(at_s, step_db);
      const auto step = [&](double t) { return t < at_s ? 0.0 : step_db; };
      std::vector<float> louder = noise(6 * second, 9);
      shape(louder, rate, [&](double t) { return std::pow(10.0, step(t) / 20.0); });
      for (const std::vector<float>& samples : {two_bands(6.0, 4, step), louder}) {
        // So long that the moment is in every loop, in the middle half of it.
        const LoopSearch search = found(pcm_of({samples}, rate), {5.0, 5.9, 3, 1});
        REQUIRE_FALSE(search.candidates.empty());
        for (const LoopCandidate& one : search.candidates) {
          CHECK(one.loop.drift_db == 0.0);
          CHECK(one.loop.octave_drift_db.empty());
          CHECK(one.seam.state != SeamState::clean);
        }
        CHECK(search.reason.find("no loop is steady") != std::string::npos);
      }
    }
  }
}

TEST_CASE("loop sweep: drift of tone, the table of docs/loops.md", "[.sweep]") {
  std::cout << "| treble | loops | clean | mended | worst treble before | worst treble left |\n";
  for (const double db_a_second : {-0.5, -1.0, -1.5, -2.0, -2.5, 1.0, 2.0}) {
    int mended_clean = 0;
    int mended = 0;
    double before_db = 0.0;
    double left_db = 0.0;
    for (std::uint64_t seed = 501; seed <= 512; ++seed) {
      const audio::Pcm pcm = pcm_of(
          {two_bands(8.0, seed, [&](double t) { return 6.0 + db_a_second * (t - 4.0); })}, rate);
      const LoopSearch search = found(pcm, {2.5, 6.0, 5, 1});
      REQUIRE_FALSE(search.candidates.empty());
      const LoopCandidate& best = search.candidates.front();
      mended_clean += clean(best) ? 1 : 0;
      mended += best.loop.octave_drift_db.empty() ? 0 : 1;
      before_db = std::max(before_db, std::abs(treble_change_db(pcm, best.loop.range)));
      audio::Pcm rendered = pcm;
      REQUIRE(blend_loop(rendered, best.loop));
      left_db = std::max(left_db, std::abs(treble_change_db(rendered, best.loop.range)));
    }
    std::cout << fmt::format("| {:+.1f} dB a second | 12 | {} | {} | {:.1f} dB | {:.1f} dB |\n",
                             db_a_second, mended_clean, mended, before_db, left_db);
    CHECK(mended_clean >= 11);
    CHECK(left_db < 3.0);
  }
}
