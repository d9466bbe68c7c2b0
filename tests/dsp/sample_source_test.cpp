// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/sample_source.h"

#include "support/catch.h"
#include "support/field_take.h"
#include "support/same_track.h"
#include "support/watched_source.h"

#include "fourbeat/dsp/beat_corrections.h"
#include "fourbeat/dsp/beat_sound.h"
#include "fourbeat/dsp/beat_tracker.h"

#include <array>
#include <numeric>
#include <vector>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::tests;

namespace {

/// All that the tracker and what comes after it say of a source.
struct AllSaid {
  BeatTrack track;
  CorrectedBeats corrected;
  std::vector<std::optional<BeatSound>> sounds;
};

Result<AllSaid> all_said_of(SampleSource& source, double rate) {
  JobControl job;
  const Result<BeatTrack> track = track_beats(source, rate, {}, job);
  if (!track) return track.error();
  if (track->beats.size() < 8) return AllSaid{*track, {}, {}};
  const FrameIndex first = track->beats[2].frame;
  const FrameIndex last = track->beats[6].frame;
  const std::array<BeatCorrection, 3> corrections = {AddBeat{last + FrameCount(500)},
                                                     RetrackBetween{{first, last}, {}},
                                                     DoubleBeats{{first, last}, {}}};
  const Result<CorrectedBeats> corrected =
      correct_beats(*track, corrections, source, rate, FrameIndex(0), {}, job);
  if (!corrected) return corrected.error();
  const Result<std::vector<std::optional<BeatSound>>> sounds =
      measure_beat_sounds(source, rate, corrected->track, FrameIndex(0), job);
  if (!sounds) return sounds.error();
  return AllSaid{*track, *corrected, *sounds};
}

}  // namespace

TEST_CASE("sample source: memory and a part of it hand out what they hold, and nothing beside it",
          "[dsp]") {
  std::vector<float> samples(100);
  std::iota(samples.begin(), samples.end(), 0.0F);
  MemorySource memory(samples);
  PartSource part(memory, frame_range(20, 60));
  CHECK(memory.frames() == FrameCount(100));
  CHECK(part.frames() == FrameCount(40));
  const Result<audio::MonoView> middle = part.read(frame_range(5, 8));
  REQUIRE(middle);
  CHECK(std::vector<float>(middle->begin(), middle->end()) == std::vector<float>{25, 26, 27});
  REQUIRE(part.read(frame_range(40, 40)));
  for (const FrameRange& outside : {frame_range(-1, 3), frame_range(39, 41), frame_range(7, 6)}) {
    const Result<audio::MonoView> read = part.read(outside);
    REQUIRE_FALSE(read);
    CHECK(read.error().code == ErrorCode::bad_argument);
  }
  CHECK(part.read(frame_range(39, 41)).error().place == "frames 39 to 41");
  CHECK(memory.read(frame_range(99, 101)).error().detail == "there are 100");
}

TEST_CASE("sample source: beats are the same bit by bit however they are read, a little at a time",
          "[dsp]") {
  for (const FieldCondition condition : {FieldCondition::clean, FieldCondition::express}) {
    const FieldTake take = field_take(condition, 905, 12.0);
    const std::vector<float>& samples = take.channels.front();
    MemorySource memory(samples);
    WatchedSource pieces(samples);
    const Result<AllSaid> whole = all_said_of(memory, take.sample_rate_hz);
    const Result<AllSaid> read = all_said_of(pieces, take.sample_rate_hz);
    REQUIRE(whole);
    REQUIRE(read);
    REQUIRE(whole->sounds.size() > 8);
    CHECK(same_track(read->track, whole->track));
    CHECK(same_track(read->corrected.track, whole->corrected.track));
    REQUIRE(read->sounds.size() == whole->sounds.size());
    for (std::size_t i = 0; i < whole->sounds.size(); ++i) {
      REQUIRE(read->sounds[i].has_value() == whole->sounds[i].has_value());
      if (!read->sounds[i]) continue;
      CHECK(read->sounds[i]->over_background_db == whole->sounds[i]->over_background_db);
      CHECK(read->sounds[i]->length_share == whole->sounds[i]->length_share);
    }
  }
}

TEST_CASE("sample source: no more is asked of it at once, or of each frame, in a longer take",
          "[dsp]") {
  for (const FieldCondition condition : {FieldCondition::clean, FieldCondition::express}) {
    const FieldTake take = field_take(condition, 906, 12.0);
    const std::vector<float>& samples = take.channels.front();
    std::vector<float> thrice = samples;
    for (int again = 0; again < 2; ++again)
      thrice.insert(thrice.end(), samples.begin(), samples.end());
    for (const std::vector<float>& heard : {samples, thrice}) {
      WatchedSource source(heard);
      REQUIRE(all_said_of(source, take.sample_rate_hz));
      const double seconds = static_cast<double>(source.largest.value()) / take.sample_rate_hz;
      INFO(name_of(condition) << ": " << heard.size() << " frames, " << source.reads << " reads, "
                              << seconds << " s at once");
      CHECK((source.largest <= FrameCount(1 << 14) || seconds <= 4.01));
      CHECK(static_cast<double>(source.all_frames) < 6.0 * static_cast<double>(heard.size()));
    }
  }
}

TEST_CASE("sample source: a read that fails is told, whichever it is", "[dsp]") {
  for (const FieldCondition condition : {FieldCondition::clean, FieldCondition::express}) {
    const FieldTake take = field_take(condition, 907, 6.0);
    WatchedSource sound(take.channels.front());
    REQUIRE(all_said_of(sound, take.sample_rate_hz));
    REQUIRE(sound.reads > 20);
    for (int at = 0; at < sound.reads; at += 1 + sound.reads / 24) {
      WatchedSource source(take.channels.front());
      source.fails_at = at;
      const Result<AllSaid> said = all_said_of(source, take.sample_rate_hz);
      REQUIRE_FALSE(said);
      REQUIRE(said.error().code == ErrorCode::io_failed);
      REQUIRE(source.reads == at + 1);
    }
  }
}
