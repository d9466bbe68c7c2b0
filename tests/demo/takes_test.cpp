// SPDX-License-Identifier: GPL-3.0-or-later
#include "takes.h"

#include "fourbeat_demo/demo.h"
#include "shared_takes.h"
#include "support/catch.h"

#include "fourbeat/base/sha256.h"
#include "fourbeat/base/wheel.h"

#include <cstring>
#include <map>
#include <optional>
#include <set>
#include <span>

using namespace fourbeat;
using namespace fourbeat::demo;

namespace {

std::string digest(const audio::Pcm& pcm) {
  Sha256 hash;
  for (const auto& channel : pcm.channels)
    hash.add(std::as_bytes(std::span(channel)));
  return hash.hex();
}

/// Mean power of the 5 ms around a frame in dB; the frame must not be near an end.
double level_db(const std::vector<float>& x, std::int64_t frame) {
  double sum = 1e-18;
  for (std::int64_t i = frame - 120; i < frame + 120; ++i) {
    const double s = x[static_cast<std::size_t>(i)];
    sum += s * s;
  }
  return 10.0 * std::log10(sum / 240.0);
}

/// The beat time after the design's definition, near `frame`: where the 5 ms RMS envelope crosses
/// midway in dB between the quietest of the 50 ms before and the attack's peak.
std::int64_t measured_beat(const std::vector<float>& x, std::int64_t frame) {
  std::int64_t peak = frame - 96;
  for (std::int64_t i = frame - 96; i < frame + 480; i += 4) {
    if (level_db(x, i) > level_db(x, peak)) peak = i;
  }
  double quiet_db = level_db(x, peak);
  for (std::int64_t i = peak - 2400; i < peak; i += 8)
    quiet_db = std::min(quiet_db, level_db(x, i));
  const double midway_db = 0.5 * (quiet_db + level_db(x, peak));
  std::int64_t i = peak;
  while (level_db(x, i) > midway_db)
    --i;
  return i;
}

struct Misses {
  int beats = 0;
  int beyond_2_ms = 0;
  double mean_ms = 0.0;
};

Misses misses(const SynthTake& take, double from_kmh, double to_kmh) {
  Misses m;
  for (const TruthBeat& beat : take.truth.beats) {
    if (beat.speed_kmh < from_kmh || beat.speed_kmh > to_kmh) continue;
    if (beat.frame.value() < 3000) continue;
    const auto off = static_cast<double>(measured_beat(take.pcm.channels[0], beat.frame.value()) -
                                         beat.frame.value()) /
                     48.0;
    ++m.beats;
    m.mean_ms += off;
    if (std::fabs(off) > 2.0) ++m.beyond_2_ms;
  }
  if (m.beats > 0) m.mean_ms /= m.beats;
  return m;
}

/// Median level of the beats in dB at a speed, first channel.
double beats_db(const SynthTake& take, double from_kmh, double to_kmh) {
  std::vector<double> levels;
  for (const TruthBeat& beat : take.truth.beats) {
    if (beat.speed_kmh < from_kmh || beat.speed_kmh > to_kmh) continue;
    if (beat.frame.value() < 3000) continue;
    levels.push_back(level_db(take.pcm.channels[0], beat.frame.value() + 240));
  }
  REQUIRE(levels.size() >= 12);
  std::sort(levels.begin(), levels.end());
  return levels[levels.size() / 2];
}

}  // namespace

TEST_CASE("demo takes: each seed has samples of its own", "[demo][deep]") {
  CHECK(digest(safety_valves(demo_seed).pcm) == digest(takes()[4].pcm));
  CHECK(digest(safety_valves(demo_seed + 1).pcm) != digest(takes()[4].pcm));
}

TEST_CASE("demo takes: the same seed gives the same samples in every take", "[demo][deep]") {
  JobControl job;
  const auto again = synthesise_takes(demo_seed, job);
  REQUIRE(again.has_value());
  REQUIRE(again->size() == takes().size());
  std::set<std::string> digests;
  for (std::size_t k = 0; k < takes().size(); ++k) {
    INFO(takes()[k].truth.file);
    CHECK((*again)[k].truth == takes()[k].truth);
    const std::string first = digest(takes()[k].pcm);
    CHECK(digest((*again)[k].pcm) == first);
    digests.insert(first);
  }
  CHECK(digests.size() == takes().size());
}

TEST_CASE("demo takes: full, finite, unclipped, and small enough to hand on", "[demo]") {
  std::int64_t bytes = 0;
  for (const SynthTake& take : takes()) {
    INFO(take.truth.file);
    const bool running = !take.truth.beats.empty();
    CHECK(take.pcm.sample_rate_hz == 48000.0);
    REQUIRE(take.pcm.channels.size() == (running ? 4U : 2U));
    CHECK(take.truth.microphones.size() == take.pcm.channels.size());
    for (const auto& channel : take.pcm.channels) {
      float peak = 0.0F;
      double sum = 0.0;
      bool finite = true;
      for (const float x : channel) {
        finite = finite && std::isfinite(x);
        peak = std::max(peak, std::fabs(x));
        sum += static_cast<double>(x);
      }
      CHECK(finite);
      CHECK(peak < 0.9F);
      CHECK(peak > 0.06F);
      CHECK(std::fabs(sum / static_cast<double>(channel.size())) < 2e-4);
    }
    const double seconds = static_cast<double>(take.pcm.frames().value()) / 48000.0;
    CHECK(seconds > 10.0);
    CHECK(seconds < 90.0);
    bytes += take.pcm.frames().value() * static_cast<std::int64_t>(take.pcm.channels.size()) * 3;
  }
  CHECK(bytes < 85'000'000);
}

TEST_CASE("demo takes: a true beat is where the attack crosses midway in dB", "[demo]") {
  // Source: the definition of the beat time in the design, section 6.
  const Misses hard = misses(takes()[0], 5.0, 40.0);
  CHECK(hard.beats > 100);
  CHECK(hard.beyond_2_ms == 0);
  CHECK(std::fabs(hard.mean_ms) < 0.5);
  const Misses easy = misses(takes()[1], 20.0, 66.0);
  CHECK(easy.beats > 300);
  CHECK(easy.beyond_2_ms * 50 < easy.beats);
  CHECK(std::fabs(easy.mean_ms) < 0.7);
  const Misses soft = misses(takes()[2], 10.0, 60.0);
  CHECK(soft.beats > 150);
  CHECK(soft.beyond_2_ms * 12 < soft.beats);
  CHECK(std::fabs(soft.mean_ms) < 0.7);
}

TEST_CASE("demo takes: beats come in order, at the engine's own angles, as fast as it runs",
          "[demo]") {
  const model::Engine engine = demo_engine();
  for (std::size_t k = 0; k < 3; ++k) {
    const std::vector<TruthBeat>& beats = takes()[k].truth.beats;
    INFO(takes()[k].truth.file);
    REQUIRE(beats.size() > 100);
    for (std::size_t b = 1; b < beats.size(); ++b) {
      REQUIRE(beats[b].position == (beats[b - 1].position + 1) % 4);
      const auto from = static_cast<std::size_t>(beats[b - 1].position);
      const double here = engine.beat_angles_deg[from];
      const double there = from == 3 ? 360.0 : engine.beat_angles_deg[from + 1];
      const double speed = 0.5 * (beats[b].speed_kmh + beats[b - 1].speed_kmh);
      const double expected_s =
          beat_interval_s(speed, engine.driver_diameter_mm, 1) * (there - here) / 360.0;
      const double interval_s =
          static_cast<double>((beats[b].frame - beats[b - 1].frame).value()) / 48000.0;
      REQUIRE(interval_s == Approx(expected_s).epsilon(0.004).margin(4e-5));
    }
  }
}

TEST_CASE("demo takes: three efforts over a range of speeds, the harder the louder", "[demo]") {
  const auto range_of = [](const SynthTake& take, model::Effort effort) {
    double low = 1e9;
    double high = 0.0;
    for (const TruthBeat& beat : take.truth.beats) {
      REQUIRE(beat.effort == effort);
      low = std::min(low, beat.speed_kmh);
      high = std::max(high, beat.speed_kmh);
    }
    return std::pair(low, high);
  };
  const auto [hard_low, hard_high] = range_of(takes()[0], model::Effort::hard);
  CHECK(hard_low < 6.0);
  CHECK(hard_high > 34.0);
  const auto [easy_low, easy_high] = range_of(takes()[1], model::Effort::easy);
  CHECK(easy_low < 21.0);
  CHECK(easy_high > 64.0);
  const auto [soft_low, soft_high] = range_of(takes()[2], model::Effort::drifting);
  CHECK(soft_low < 12.0);
  CHECK(soft_high > 58.0);
  const double hard_db = beats_db(takes()[0], 24.0, 32.0);
  const double easy_db = beats_db(takes()[1], 24.0, 32.0);
  const double soft_db = beats_db(takes()[2], 24.0, 32.0);
  CHECK(hard_db > easy_db + 3.0);
  CHECK(easy_db > soft_db + 3.0);
}

TEST_CASE("demo takes: each place of the revolution keeps its own accent", "[demo]") {
  std::array<double, 4> sum{};
  std::array<int, 4> count{};
  const SynthTake& take = takes()[1];
  for (const TruthBeat& beat : take.truth.beats) {
    if (beat.speed_kmh > 45.0 || beat.frame.value() < 3000) continue;
    sum.at(static_cast<std::size_t>(beat.position)) +=
        level_db(take.pcm.channels[0], beat.frame.value() + 240);
    ++count.at(static_cast<std::size_t>(beat.position));
  }
  std::vector<double> mean;
  for (std::size_t p = 0; p < 4; ++p)
    mean.push_back(sum.at(p) / count.at(p));
  CHECK(mean[0] > mean[1] + 1.5);
  CHECK(mean[2] > mean[3] + 0.5);
}

TEST_CASE("demo takes: sound reaches the farther microphones later, at 343 m/s", "[demo]") {
  const TakeTruth& truth = takes()[0].truth;
  REQUIRE(truth.chimney_delay_frames.size() == 4);
  CHECK(truth.chimney_delay_frames[0] == Approx(1.1 / 343 * 48000).margin(15));
  for (std::size_t m = 1; m < 4; ++m) {
    CHECK(truth.chimney_delay_frames[m] > truth.chimney_delay_frames[0] + 200);
  }
  // The cab hears the beat as the chimney microphone does, by the difference later.
  const auto& near = takes()[0].pcm.channels[0];
  const auto& far = takes()[0].pcm.channels[3];
  const std::int64_t from = takes()[0].truth.beats[20].frame.value() - 200;
  std::int64_t best_lag = 0;
  double best = 0.0;
  for (std::int64_t lag = 0; lag < 2000; ++lag) {
    double sum = 0.0;
    for (std::int64_t i = from; i < from + 4800; ++i) {
      sum += static_cast<double>(near[static_cast<std::size_t>(i)]) *
             static_cast<double>(far[static_cast<std::size_t>(i + lag)]);
    }
    if (sum > best) {
      best = sum;
      best_lag = lag;
    }
  }
  const std::int64_t expected = truth.chimney_delay_frames[3] - truth.chimney_delay_frames[0];
  CHECK(std::llabs(best_lag - expected) < 30);
}

TEST_CASE("demo takes: named sounds lie in their takes, parts meet, and something sounds there",
          "[demo]") {
  std::map<std::string, FrameRange> last;
  std::set<std::string> names;
  for (const SynthTake& take : takes()) {
    for (const TruthEvent& event : take.truth.events) {
      INFO(event.name << " " << event.part);
      names.insert(event.name);
      CHECK(event.range.start.value() >= 0);
      CHECK(event.range.length().value() > 1000);
      CHECK(event.range.end.value() <= take.pcm.frames().value());
      if (event.part == "unusable") continue;
      if ((event.part == "hold" && last.count(event.name) > 0) || event.part == "release") {
        CHECK(last.at(event.name).end == event.range.start);
      }
      last[event.name] = event.range;
      CHECK(event.peak > 0.02F);
      // Louder than the take's quietest stretch of 0.2 s on that microphone.
      const auto& x = take.pcm.channels.at(static_cast<std::size_t>(event.channel - 1));
      const auto power = [&](std::int64_t from, std::int64_t to) {
        double sum = 0.0;
        for (std::int64_t i = from; i < to; ++i) {
          const double s = x[static_cast<std::size_t>(i)];
          sum += s * s;
        }
        return sum / static_cast<double>(to - from);
      };
      double quiet = 1e9;
      for (std::int64_t i = 0; i + 9600 < take.pcm.frames().value(); i += 9600) {
        quiet = std::min(quiet, power(i, i + 9600));
      }
      CHECK(power(event.range.start.value(), event.range.end.value()) > 1.05 * quiet);
    }
  }
  CHECK(names.size() > 28);
}

TEST_CASE("demo takes: a cancel is heeded", "[demo]") {
  struct Stop : JobControl {
    [[nodiscard]] bool cancelled() const override { return true; }
  } stop;
  const auto result = synthesise_takes(demo_seed, stop);
  REQUIRE_FALSE(result.has_value());
  CHECK(result.error().code == ErrorCode::cancelled);
}
