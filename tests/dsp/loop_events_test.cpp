// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_joins.h"
#include "loop_levels.h"
#include "loop_materials.h"
#include "loop_sounds.h"
#include "support/catch.h"
#include "support/figures.h"

#include "fourbeat/dsp/loop_finder.h"
#include "fourbeat/dsp/steady.h"

#include <algorithm>
#include <cmath>
#include <numbers>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::loop_sounds;
using namespace fourbeat::loop_sounds::at_16_khz;

namespace {

/// A bird of 0.2 s at 3.5 kHz.
void add_bird(std::vector<float>& samples, std::size_t at) {
  for (std::size_t i = 0; i < second / 5; ++i) {
    samples[at + i] += static_cast<float>(
        0.4 * std::sin(2.0 * std::numbers::pi * 3500.0 * static_cast<double>(i) / rate));
  }
}

/// A knock: a thump at 180 Hz that is gone after some 60 ms.
void add_knock(std::vector<float>& samples, std::size_t at) {
  for (std::size_t i = 0; i < second / 10; ++i) {
    const double t = static_cast<double>(i) / rate;
    samples[at + i] += static_cast<float>(0.8 * std::exp(-t / 0.02) *
                                          std::sin(2.0 * std::numbers::pi * 180.0 * t));
  }
}

bool inside(const LoopCandidate& candidate, std::size_t frame) {
  const auto at = static_cast<std::int64_t>(frame);
  return candidate.loop.range.start.value() <= at && at < candidate.loop.range.end.value();
}

}  // namespace

TEST_CASE("loop finder: a loop with a bird or a knock inside comes after as good ones without",
          "[dsp]") {
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    for (const auto add : {add_bird, add_knock}) {
      std::vector<float> samples = dull_noise(12 * second, seed, 0.5);
      const std::size_t at = 5 * second + 4000 * seed;
      add(samples, at);
      const LoopSearch search = found(pcm_of({samples}, rate), {1.0, 5.0, 6, 1});
      REQUIRE(search.candidates.size() == 6);
      CHECK_FALSE(inside(search.candidates.front(), at + 100));
      // Of those that are clean, every one without comes before every one with.
      bool seen = false;
      for (const LoopCandidate& one : search.candidates) {
        const bool has = inside(one, at + 100);
        if (one.seam.state == SeamState::clean && seen) CHECK(has);
        seen = seen || has;
      }
    }
  }
}

TEST_CASE("loop finder: a start never lies on a transient", "[dsp]") {
  int starts = 0;
  for (std::uint64_t seed = 1; seed <= 3; ++seed) {
    const Pump sound = pump(10.0, rate, 0.5 + 0.15 * static_cast<double>(seed), 0.02, seed);
    for (const LoopCandidate& one :
         found(pcm_of({sound.samples}, rate), {0.5, 8.0, 10, 1}).candidates) {
      const double start_s = static_cast<double>(one.loop.range.start.value()) / rate;
      for (const double stroke_s : sound.strokes_s)
        CHECK(std::abs(stroke_s - start_s) > 0.02);
      ++starts;
    }
  }
  CHECK(starts >= 20);
}

namespace {

/// Joins of loops of one second in noise whose level in dB is given over time.
template <class Level>
std::vector<Join> joins_of(double seconds, Level level_db) {
  std::vector<float> samples = noise(static_cast<std::size_t>(seconds * rate), 4);
  shape(samples, rate, [&](double t) { return std::pow(10.0, level_db(t) / 20.0); });
  const std::vector<std::vector<float>> channels = {std::move(samples)};
  JobControl job;
  const Result<Levels> levels = levels_of(channels, rate, job);
  REQUIRE(levels);
  Result<std::vector<Join>> joins = find_joins(channels, *levels, {rate, second, second, 20}, job);
  REQUIRE(joins);
  REQUIRE_FALSE(joins->empty());
  return *joins;
}

double start_s(const Join& join) {
  return static_cast<double>(join.start_frame) / rate;
}

}  // namespace

TEST_CASE("loop joins: a start on a transient is not chosen, however well it fits", "[dsp]") {
  // What follows the rise at 40 ms comes again a second later; later starts fit a loop's end badly.
  for (const Join& join : joins_of(1.13, [](double t) {
         if (t < 0.04 || (t >= 1.02 && t < 1.04)) return -14.0;
         return t >= 1.085 ? -30.0 : 0.0;
       }))
    CHECK(start_s(join) >= 0.095);
}

TEST_CASE("loop joins: of starts on transients none is left beside others", "[dsp]") {
  // Steady for 0.12 s, then up and down every 35 ms.
  const std::vector<Join> joins = joins_of(1.5, [](double t) {
    return t < 0.12 || static_cast<int>((t - 0.12) / 0.035) % 2 == 1 ? 0.0 : -14.0;
  });
  for (const Join& join : joins)
    CHECK(start_s(join) <= 0.13);
}

TEST_CASE("loop finder: the reason names the moment that stands out", "[dsp]") {
  // Too little on either side of it for a loop of 1.5 s.
  std::vector<float> samples = dull_noise(2 * second, 3, 0.5);
  shape(samples, rate, [](double t) { return t > 0.95 && t < 1.15 ? 12.0 : 1.0; });
  LoopParams params{1.5, 8.0, 3, 1};
  params.origin_s = 20.0;
  const LoopSearch search = found(pcm_of({samples}, rate), params);
  REQUIRE_FALSE(search.candidates.empty());
  if (search.reason.empty()) {
    CHECK(search.candidates.front().seam.tell_db > 15.0);
  } else {
    const std::size_t at = search.reason.find(" dB at ");
    REQUIRE(at != std::string::npos);
    CHECK(tests::figure_at(search.reason, at + 7) == Approx(21.05).margin(0.15));
  }
}

TEST_CASE("steady: a sound goes on alike until it changes", "[dsp]") {
  // 12 s; dull from 8 s; a shout at 3 s.
  std::vector<float> samples = noise(8 * second, 1);
  const std::vector<float> rest = dull_noise(4 * second, 2, 0.05);
  samples.insert(samples.end(), rest.begin(), rest.end());
  shape(samples, rate, [](double t) { return t >= 3.0 && t < 3.1 ? 10.0 : 1.0; });
  const audio::Pcm pcm = pcm_of({samples}, rate);
  JobControl job;
  const auto frame = [](double s) { return static_cast<std::int64_t>(s * rate); };
  const auto alike = stretches_like(pcm, frame_range(frame(5.0), frame(6.0)), job);
  REQUIRE(alike);
  REQUIRE(alike->size() == 2);
  CHECK(static_cast<double>((*alike)[0].start.value()) / rate == Approx(3.1).margin(0.1));
  CHECK(static_cast<double>((*alike)[0].end.value()) / rate == Approx(8.0).margin(1.0));
  CHECK((*alike)[1].start.value() == 0);
  CHECK(static_cast<double>((*alike)[1].end.value()) / rate == Approx(3.0).margin(0.1));
  const auto dull = stretches_like(pcm, frame_range(frame(9.5), frame(11.0)), job);
  REQUIRE(dull);
  REQUIRE(dull->size() == 1);
  CHECK(static_cast<double>(dull->front().start.value()) / rate == Approx(8.0).margin(1.0));
  CHECK_FALSE(stretches_like(pcm, frame_range(5, 5), job));
  CHECK_FALSE(stretches_like(pcm, frame_range(5, frame(13.0)), job));
}
