// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/beat_corrections.h"

#include "support/catch.h"
#include "support/synthetic_steam.h"

#include <algorithm>
#include <array>
#include <cmath>

using namespace fourbeat;
using namespace fourbeat::dsp;
using namespace fourbeat::tests;

namespace {

constexpr double rate_hz = 16000.0;

/// Twelve seconds of four beats a second, each place louder or softer than the next, as sound and
/// as tracked.
struct Heard {
  Steam steam;
  BeatHints hints;
  BeatTrack track;
};

const Heard& heard() {
  static const Heard once = [] {
    SteamParams params;
    params.sample_rate_hz = rate_hz;
    params.seconds = 12.0;
    params.seed = 4;
    params.levels_db = {0.0, -4.0, -1.0, -6.0};
    params.level_jitter_db = 0.3;
    Heard made;
    made.steam = synthetic_steam(params);
    made.hints.beats_per_rev = 4;
    made.hints.driver_diameter_mm = 1500.0;
    JobControl job;
    const Result<BeatTrack> track = track_beats(made.steam.samples, rate_hz, made.hints, job);
    REQUIRE(track);
    made.track = *track;
    REQUIRE(made.track.stretches.size() == 1);
    REQUIRE(made.track.beats.size() > 40);
    REQUIRE(made.track.beats[0].position);
    return made;
  }();
  return once;
}

CorrectedBeats corrected(const BeatTrack& track, const std::vector<BeatCorrection>& corrections) {
  JobControl job;
  MemorySource source(heard().steam.samples);
  const Result<CorrectedBeats> result =
      correct_beats(track, corrections, source, rate_hz, FrameIndex(0), heard().hints, job);
  INFO((result ? std::string() : to_line(result.error())));
  REQUIRE(result);
  const std::vector<Beat>& beats = result->track.beats;
  for (std::size_t i = 1; i < beats.size(); ++i)
    REQUIRE(beats[i - 1].frame < beats[i].frame);
  return *result;
}

std::vector<std::int64_t> frames_of(const BeatTrack& track) {
  std::vector<std::int64_t> frames;
  for (const Beat& beat : track.beats)
    frames.push_back(beat.frame.value());
  return frames;
}

FrameIndex moved(FrameIndex frame, double seconds) {
  return frame + FrameCount(std::llround(seconds * rate_hz));
}

/// Places of every beat that both have, where they agree.
std::size_t same_positions(const BeatTrack& a, const BeatTrack& b) {
  std::size_t same = 0;
  for (const Beat& one : a.beats) {
    for (const Beat& other : b.beats) {
      if (std::abs((one.frame - other.frame).value()) < 100)
        same += one.position == other.position ? 1 : 0;
    }
  }
  return same;
}

}  // namespace

TEST_CASE("beat corrections: none leave the track as it is", "[dsp]") {
  const CorrectedBeats same = corrected(heard().track, {});
  CHECK(frames_of(same.track) == frames_of(heard().track));
  CHECK(same_positions(same.track, heard().track) == heard().track.beats.size());
}

TEST_CASE("beat corrections: a beat comes, goes and moves, and the revolution is counted anew",
          "[dsp]") {
  const BeatTrack& track = heard().track;
  const FrameIndex at = track.beats[20].frame;
  const CorrectedBeats without = corrected(track, {RemoveBeat{moved(at, 0.02)}});
  CHECK(without.idle.empty());
  CHECK(without.track.beats.size() == track.beats.size() - 1);
  CHECK_FALSE(beat_near(without.track, at, rate_hz));
  // Put back by hand on top of that: the track as it was, positions too.
  const CorrectedBeats again = corrected(track, {RemoveBeat{at}, AddBeat{at}});
  CHECK(frames_of(again.track) == frames_of(track));
  CHECK(same_positions(again.track, track) == track.beats.size());
  CHECK(again.track.beats[20].confidence == 1.0);
  CHECK(again.track.beats[20].strength == Approx(track.beats[20].strength).margin(0.15));
  REQUIRE(again.track.stretches.size() == 1);
  CHECK(again.track.stretches[0].range == track.stretches[0].range);
  const CorrectedBeats shifted = corrected(track, {MoveBeat{moved(at, -0.03), moved(at, 0.01)}});
  CHECK(shifted.track.beats.size() == track.beats.size());
  CHECK(shifted.track.beats[20].frame == moved(at, 0.01));
}

TEST_CASE("beat corrections: a beat added where one is already moves it; far off it stands alone",
          "[dsp]") {
  const BeatTrack& track = heard().track;
  const FrameIndex at = moved(track.beats[10].frame, 0.015);
  const CorrectedBeats same = corrected(track, {AddBeat{at}});
  CHECK(same.track.beats.size() == track.beats.size());
  CHECK(same.track.beats[10].frame == at);
  BeatTrack half = track;
  half.beats.resize(20);
  half.stretches[0].range.end = half.beats.back().frame + FrameCount(1);
  const std::int64_t period = std::llround(0.25 * rate_hz);
  const FrameIndex end = half.beats.back().frame;
  const CorrectedBeats joined = corrected(half, {AddBeat{end + FrameCount(period)}});
  REQUIRE(joined.track.stretches.size() == 1);
  CHECK(joined.track.stretches[0].range.end == end + FrameCount(period + 1));
  const CorrectedBeats apart = corrected(
      half, {AddBeat{end + FrameCount(8 * period)}, AddBeat{end + FrameCount(9 * period)}});
  REQUIRE(apart.track.stretches.size() == 2);
  CHECK(apart.track.stretches[1].median_interval_s == Approx(0.25).margin(1e-3));
}

TEST_CASE("beat corrections: halved and doubled stretches find the beats again", "[dsp]") {
  const BeatTrack& track = heard().track;
  const FrameRange range{track.beats[8].frame, track.beats[25].frame};
  const CorrectedBeats halved = corrected(track, {HalveBeats{range, 9}});
  CHECK(halved.track.beats.size() == track.beats.size() - 8);
  CHECK(halved.track.beats[8].frame == track.beats[8].frame);
  CHECK(halved.track.beats[9].frame == track.beats[10].frame);
  // A track that has as few already is left alone.
  CHECK(frames_of(corrected(halved.track, {HalveBeats{range, 9}}).track) ==
        frames_of(halved.track));
  const FrameRange over{track.beats[8].frame, moved(track.beats[24].frame, 0.01)};
  const CorrectedBeats back =
      corrected(track, {HalveBeats{range, std::nullopt}, DoubleBeats{over, 17}});
  REQUIRE(back.track.beats.size() == track.beats.size());
  for (std::size_t i = 0; i < track.beats.size(); ++i)
    CHECK(back.track.beats[i].time_s == Approx(track.beats[i].time_s).margin(0.005));
  CHECK(frames_of(corrected(track, {DoubleBeats{over, 17}}).track) == frames_of(track));
}

TEST_CASE("beat corrections: one beat said to be position 0 turns all that count with it",
          "[dsp]") {
  const BeatTrack& track = heard().track;
  std::size_t at = 12;
  while (track.beats[at].position != 3)
    ++at;
  const FrameIndex frame = moved(track.beats[at].frame, 0.01);
  const CorrectedBeats turned = corrected(track, {SetRevolution{{frame, frame}}});
  for (std::size_t i = 0; i < track.beats.size(); ++i)
    CHECK(turned.track.beats[i].position == (*track.beats[i].position + 1) % 4);
  // A revolution of its own from beat 20 on: five beats, then counted on.
  const FrameRange five{track.beats[20].frame, track.beats[25].frame};
  const CorrectedBeats odd = corrected(track, {SetRevolution{five}});
  CHECK(odd.track.beats[20].position == 0);
  CHECK(odd.track.beats[25].position == 0);
  CHECK(odd.track.beats[26].position == 1);
  CHECK(odd.track.beats[19].position == 3);
}

TEST_CASE("beat corrections: pinned ends hold, and between them the sound is tracked anew",
          "[dsp]") {
  const BeatTrack& track = heard().track;
  // Beats 10 to 22 lost: the tracker finds them again between the pins.
  BeatTrack torn = track;
  torn.beats.erase(torn.beats.begin() + 11, torn.beats.begin() + 22);
  const FrameRange pins{track.beats[10].frame, track.beats[22].frame};
  const CorrectedBeats mended = corrected(torn, {RetrackBetween{pins, std::nullopt}});
  REQUIRE(mended.track.beats.size() == track.beats.size());
  for (std::size_t i = 0; i < track.beats.size(); ++i)
    CHECK(mended.track.beats[i].time_s == Approx(track.beats[i].time_s).margin(0.005));
  CHECK(mended.track.beats[10].frame == pins.start);
  CHECK(mended.track.beats[22].frame == pins.end);
  // Said how many: as many, each at its attack.
  const CorrectedBeats counted = corrected(torn, {RetrackBetween{pins, 12}});
  CHECK(counted.track.beats.size() == track.beats.size());
  const CorrectedBeats six = corrected(torn, {RetrackBetween{pins, 6}});
  CHECK(six.track.beats.size() == track.beats.size() - 6);
}

TEST_CASE("beat corrections: what finds no beat says so, what lies outside is refused", "[dsp]") {
  const BeatTrack& track = heard().track;
  const FrameIndex between = moved(track.beats[30].frame, 0.125);
  const FrameIndex beside = moved(track.beats[30].frame, 0.01);
  const CorrectedBeats idle =
      corrected(track, {RemoveBeat{between}, AddBeat{beside}, SetRevolution{{between, between}}});
  CHECK(idle.idle == std::vector<std::size_t>{0, 2});
  const auto place_of = [&](const BeatCorrection& correction, const BeatHints& hints) {
    JobControl job;
    MemorySource source(heard().steam.samples);
    const Result<CorrectedBeats> result =
        correct_beats(track, std::array{correction}, source, rate_hz, FrameIndex(0), hints, job);
    return result ? std::string() : result.error().place;
  };
  CHECK(place_of(AddBeat{FrameIndex(-1)}, heard().hints) == "frame -1");
  CHECK(place_of(HalveBeats{frame_range(5, 5), {}}, heard().hints) == "frame 5");
  CHECK(place_of(SetRevolution{frame_range(5, 5)}, {}) == "beats per revolution");
  class Cancelled : public JobControl {
   public:
    [[nodiscard]] bool cancelled() const override { return true; }
  } job;
  MemorySource source(heard().steam.samples);
  const Result<CorrectedBeats> stopped =
      correct_beats(track, std::array<BeatCorrection, 1>{RemoveBeat{beside}}, source, rate_hz,
                    FrameIndex(0), heard().hints, job);
  REQUIRE_FALSE(stopped);
  CHECK(stopped.error().code == ErrorCode::cancelled);
}
