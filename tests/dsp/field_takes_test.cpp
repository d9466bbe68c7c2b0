// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/field_score.h"
#include "support/field_take.h"

#include "fourbeat/dsp/beat_tracker.h"

#include <algorithm>
#include <utility>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::tests;

/// A quick part of what tests/bench/beats_sweep.cpp measures (docs/beats.md): one take a condition.

namespace {

BeatTrack track_of(const FieldTake& take, const BeatHints& hints) {
  JobControl job;
  const Result<BeatTrack> track =
      track_beats(take.channels.front(), take.sample_rate_hz, hints, job);
  REQUIRE(track);
  return *track;
}

void check(FieldCondition condition, std::uint64_t seed, double least_f) {
  const FieldTake take = field_take(condition, seed, 16.0);
  INFO(name_of(condition) << ", seed " << seed);
  REQUIRE(take.beats_s.size() > 8);
  const BeatTrack plain = track_of(take, {});
  CHECK(score_field(take, 0, times_of(plain)).f_measure() >= least_f);
  const BeatTrack hinted = track_of(take, hints_of(take));
  CHECK(score_field(take, 0, times_of(hinted)).f_measure() >= least_f);
  CHECK(median_of(speed_errors(take, hinted)) < 0.02);
}

}  // namespace

TEST_CASE("field takes: clean beats and a start from rest are found", "[dsp]") {
  check(FieldCondition::clean, 901, 0.99);
  check(FieldCondition::over_6_db, 902, 0.97);
  check(FieldCondition::from_rest, 903, 0.97);
}

TEST_CASE("field takes: what is heard beside the beats hides few of them", "[dsp]") {
  check(FieldCondition::over_0_db, 908, 0.90);
  check(FieldCondition::pump, 909, 0.90);
  check(FieldCondition::whistle, 910, 0.90);
  check(FieldCondition::safety_valve, 911, 0.90);
  check(FieldCondition::wind, 918, 0.90);
  check(FieldCondition::dropouts, 913, 0.90);
}

TEST_CASE("field takes: a slip and an uneven engine keep their beats", "[dsp]") {
  check(FieldCondition::slip, 914, 0.90);
  check(FieldCondition::uneven, 904, 0.95);
  check(FieldCondition::six_beats, 915, 0.95);
}

TEST_CASE("field takes: a pump, an injector, wind and clatter are no beats", "[dsp]") {
  for (const std::uint64_t seed : {916U, 917U}) {
    INFO("seed " << seed);
    CHECK(track_of(field_take(FieldCondition::standing, seed, 90.0), {}).beats.empty());
    CHECK(track_of(field_take(FieldCondition::drifting, seed, 40.0), {}).beats.empty());
  }
}

TEST_CASE("field takes: a train that sets off beside its pump keeps its beats", "[dsp]") {
  // Two and a half minutes of standing, then a train: at a pump's pace, and too fast for one, which
  // one stretch holds together with the pump's strokes.
  for (const auto& [standing, train] : {std::pair{11U, 11003U}, std::pair{18U, 18002U}}) {
    INFO("seed " << standing);
    const FieldTake before = field_take(FieldCondition::standing, standing, 150.0);
    const FieldTake take = field_take(FieldCondition::clean, train);
    REQUIRE(take.sample_rate_hz == before.sample_rate_hz);
    std::vector<float> samples = before.channels.front();
    const double start_s = static_cast<double>(samples.size()) / before.sample_rate_hz;
    samples.insert(samples.end(), take.channels.front().begin(), take.channels.front().end());
    JobControl job;
    const Result<BeatTrack> track = track_beats(samples, take.sample_rate_hz, {}, job);
    REQUIRE(track);
    std::vector<double> times_s;
    for (const double time_s : times_of(*track))
      if (time_s > start_s) times_s.push_back(time_s - start_s);
    CHECK(score_field(take, 0, times_s).f_measure() > 0.98);
  }
}

TEST_CASE("field takes: in ten minutes of standing no stroke and no hum is taken for beats",
          "[dsp][deep]") {
  // A hum at 25 Hz for two seconds in the one; in the next pump strokes whose stretches tell their
  // source only together; in the third a pump whose strokes are lost for a few seconds; in the
  // fourth one that is followed now by single and now by whole strokes, in the fifth by whole ones.
  // Then a pump heard once, for 25 strokes; one that slows down by two fifths; and one of whose
  // strokes nothing but their freedom tells. Then pumps heard a few times, whose intervals say
  // little; and one, the last, of whose runs one looks a wheel's.
  for (const std::uint64_t seed : {203U, 204U, 523U, 561U, 587U, 2006U, 2013U, 2033U, 521U, 6022U,
                                   6119U, 6126U, 7014U, 8040U, 9009U}) {
    INFO("seed " << seed);
    CHECK(track_of(field_take(FieldCondition::standing, seed), {}).beats.empty());
  }
  // Strokes that are followed one by one and, between, by twos; and a pump that only its slowing
  // down, time and again, tells from a wheel.
  for (const std::uint64_t seed : {306U, 504U}) {
    INFO("seed " << seed);
    const FieldTake take = field_take(FieldCondition::standing, seed);
    CHECK(track_of(take, hints_of(take)).beats.empty());
  }
}

TEST_CASE("field takes: fused beats are followed by their periodicity, and say so", "[dsp]") {
  check(FieldCondition::express, 905, 0.95);
  const FieldTake take = field_take(FieldCondition::express, 905, 16.0);
  const BeatTrack track = track_of(take, hints_of(take));
  REQUIRE(track.stretches.size() == 1);
  CHECK(track.stretches.front().fused);
  CHECK(track.stretches.front().median_interval_s < 0.06);
  for (const Beat& beat : track.beats) {
    REQUIRE(beat.confidence <= 0.5);
    REQUIRE(beat.confidence > 0.1);
    REQUIRE_FALSE(beat.position.has_value());
  }
  // Slower beats are no line, however sharp: their overtones are not taken for beats.
  const FieldTake slow = field_take(FieldCondition::clean, 906, 16.0);
  for (const BeatStretch& stretch : track_of(slow, {}).stretches)
    CHECK_FALSE(stretch.fused);
}

TEST_CASE("field takes: of several microphones one that hears the beats well is taken", "[dsp]") {
  const FieldTake take = field_take(FieldCondition::microphones, 907, 16.0);
  std::vector<dsp::MemorySource> sources(take.channels.begin(), take.channels.end());
  std::vector<dsp::SampleSource*> channels;
  channels.reserve(sources.size());
  for (dsp::MemorySource& source : sources)
    channels.push_back(&source);
  JobControl job;
  const Result<ChannelBeats> best = track_best_channel(channels, take.sample_rate_hz, {}, job);
  REQUIRE(best);
  const double chosen = score_field(take, best->channel, times_of(best->track)).f_measure();
  CHECK(chosen >= 0.95);
  const Result<ChannelBeats> none = track_best_channel({}, take.sample_rate_hz, {}, job);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == ErrorCode::bad_argument);
}
