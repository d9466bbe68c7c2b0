// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/beat_edits.h"

#include "support/catch.h"
#include "support/same_track.h"
#include "support/synthetic_steam.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/base/random.h"
#include "fourbeat/work/session.h"

#include <cmath>

using namespace fourbeat;
using namespace fourbeat::tests;
using model::Effort;
using model::MarkKind;

namespace {

constexpr double rate_hz = 16000.0;
const Id<model::Take> the_take(1);

/// A take of four beats a second with its sound and its track as the tracker gives it.
class Bench {
 public:
  Bench() {
    SteamParams params;
    params.sample_rate_hz = rate_hz;
    params.seconds = 9.0;
    params.seed = 6;
    params.levels_db = {0.0, -4.0, -1.0, -6.0};
    params.level_jitter_db = 0.3;
    const Steam steam = synthetic_steam(params);
    samples_ = steam.samples;
    project = one_take_project(folder.path(), {rate_hz, {samples_}}, audio::WavDepth::f32, 0);
    project.engine.driver_diameter_mm = 1500.0;
    JobControl job;
    const Result<dsp::BeatTrack> track =
        dsp::track_beats(samples_, rate_hz, work::beat_hints(project.engine), job);
    REQUIRE(track);
    raw_ = *track;
    REQUIRE(raw_.beats.size() > 30);
  }

  /// The take as track_take() has it, without tracking anew each time.
  [[nodiscard]] work::TrackedTake now() const {
    JobControl job;
    const work::MarkedCorrections marked = work::corrections_of(project, the_take);
    dsp::MemorySource source(samples_);
    Result<dsp::CorrectedBeats> corrected =
        dsp::correct_beats(raw_, marked.corrections, source, rate_hz, FrameIndex(0),
                           work::beat_hints(project.engine), job);
    INFO((corrected ? std::string() : to_line(corrected.error())));
    REQUIRE(corrected);
    Result<work::TrackedTake> tracked =
        work::measure_take(project, the_take, 1, std::move(corrected->track), {});
    REQUIRE(tracked);
    return *tracked;
  }

  /// Performs an act; returns the edit that undoes it.
  model::Edit perform(const work::BeatEdits& edits) {
    INFO((edits ? std::string() : to_line(edits.error())));
    REQUIRE(edits);
    Result<model::Edit> undo = model::apply(project, model::EditGroup{*edits});
    REQUIRE(undo);
    return *undo;
  }

  TempFolder folder;
  model::Project project;

 private:
  std::vector<float> samples_;
  dsp::BeatTrack raw_;
};

FrameCount frames(double seconds) {
  return FrameCount(std::llround(seconds * rate_hz));
}

/// Some act at random; it may be refused.
work::BeatEdits any_act(Random& random, const model::Project& project,
                        const work::TrackedTake& take) {
  const std::vector<dsp::Beat>& beats = take.track.beats;
  const auto some = [&](std::size_t before_end) {
    const auto room = static_cast<std::int64_t>(beats.size() - before_end);
    return static_cast<std::size_t>(random.below(room));
  };
  const std::size_t at = some(13);
  const FrameIndex near = beats[at].frame + frames(random.uniform(-0.04, 0.04));
  const FrameRange stretch{beats[at].frame - FrameCount(50),
                           beats[at + 4 + some(beats.size() - 8)].frame + FrameCount(50)};
  switch (random.below(9)) {
    case 0:
      return work::insert_beat(project, take, beats[at].frame + frames(0.1));
    case 1:
      return work::delete_beat(project, take, near);
    case 2:
      return work::move_beat(project, take, near, near + frames(random.uniform(-0.06, 0.06)));
    case 3:
      return work::halve_beats(project, take, stretch);
    case 4:
      return work::double_beats(project, take, stretch);
    case 5:
      return work::set_revolution(project, take, {near, near});
    case 6:
      return work::retrack_between(project, take, stretch.start, stretch.end);
    case 7:
      return work::set_effort(project, take, stretch, Effort::drifting);
    default:
      return work::clear_hand_set(project, take, stretch);
  }
}

}  // namespace

TEST_CASE("beat edits: each act changes the track as it says", "[work]") {
  Bench bench;
  const work::TrackedTake before = bench.now();
  const std::vector<dsp::Beat>& beats = before.track.beats;
  const std::size_t count = beats.size();
  bench.perform(work::delete_beat(bench.project, before, beats[10].frame + frames(0.02)));
  CHECK(bench.now().track.beats.size() == count - 1);
  bench.perform(work::insert_beat(bench.project, bench.now(), beats[10].frame + frames(0.01)));
  work::TrackedTake now = bench.now();
  CHECK(now.track.beats.size() == count);
  CHECK(now.track.beats[10].frame == beats[10].frame + frames(0.01));
  bench.perform(work::move_beat(bench.project, now, now.track.beats[20].frame,
                                beats[20].frame - frames(0.03)));
  now = bench.now();
  CHECK(now.track.beats[20].frame == beats[20].frame - frames(0.03));
  bench.perform(
      work::set_effort(bench.project, now, {beats[3].frame, beats[6].frame}, Effort::drifting));
  now = bench.now();
  CHECK(now.efforts[4] == Effort::drifting);
  CHECK(now.efforts[6] != Effort::drifting);
  // From a place 0 on, places 0 and 2 are the louder ones.
  std::size_t from = 12;
  while (beats[from].position != 0)
    ++from;
  const FrameRange stretch{beats[from].frame - FrameCount(9),
                           beats[from + 6].frame + FrameCount(9)};
  bench.perform(work::halve_beats(bench.project, now, stretch));
  CHECK(bench.now().track.beats.size() == count - 3);
  bench.perform(work::clear_hand_set(
      bench.project, bench.now(), {FrameIndex(0), FrameIndex(0) + bench.project.takes[0].frames}));
  CHECK(bench.project.marks.empty());
  CHECK(same_track(bench.now().track, before.track));
}

TEST_CASE("beat edits: halving keeps the louder half, whichever comes first", "[work]") {
  Bench bench;
  const work::TrackedTake before = bench.now();
  // Twice as many as there are: the ones between are soft.
  const std::vector<dsp::Beat>& beats = before.track.beats;
  bench.perform(work::double_beats(bench.project, before, {beats[4].frame, beats[17].frame}));
  const work::TrackedTake doubled = bench.now();
  REQUIRE(doubled.track.beats.size() == beats.size() + 12);
  for (const std::size_t from : {std::size_t{4}, std::size_t{5}}) {
    Bench again;
    again.project = bench.project;
    const FrameRange stretch{doubled.track.beats[from].frame - FrameCount(9),
                             doubled.track.beats[28].frame + FrameCount(9)};
    again.perform(work::halve_beats(again.project, doubled, stretch));
    const work::TrackedTake halved = again.now();
    INFO("from beat " << from);
    std::size_t found = 0;
    for (const dsp::Beat& beat : beats)
      found += dsp::beat_near(halved.track, beat.frame, rate_hz) ? 1 : 0;
    CHECK(found == beats.size());
    CHECK(halved.track.beats.size() <= beats.size() + 1);
  }
}

TEST_CASE("beat edits: marks of one beat do not pile up", "[work]") {
  Bench bench;
  const FrameIndex home = bench.now().track.beats[10].frame;
  bench.perform(work::move_beat(bench.project, bench.now(), home, home + frames(0.04)));
  bench.perform(
      work::move_beat(bench.project, bench.now(), home + frames(0.04), home - frames(0.04)));
  REQUIRE(bench.project.marks.size() == 1);
  CHECK(bench.project.marks[0].range.start == home);
  CHECK(bench.project.marks[0].to_frame == home - frames(0.04));
  bench.perform(work::move_beat(bench.project, bench.now(), home - frames(0.04), home));
  CHECK(bench.project.marks.empty());
  const FrameIndex between = home + frames(0.12);
  bench.perform(work::insert_beat(bench.project, bench.now(), between));
  bench.perform(work::move_beat(bench.project, bench.now(), between, between + frames(0.01)));
  REQUIRE(bench.project.marks.size() == 1);
  CHECK(bench.project.marks[0].range.start == between + frames(0.01));
  bench.perform(work::delete_beat(bench.project, bench.now(), between + frames(0.01)));
  CHECK(bench.project.marks.empty());
  bench.perform(work::set_revolution(bench.project, bench.now(), {home, home}));
  const FrameIndex next = bench.now().track.beats[11].frame;
  bench.perform(work::set_revolution(bench.project, bench.now(), {next, next}));
  CHECK(bench.project.marks.size() == 1);
  CHECK(bench.now().track.beats[11].position == 0);
}

TEST_CASE("beat edits: whatever was done, undone it gives the former track", "[work]") {
  int performed = 0;
  for (std::uint64_t seed = 1; seed <= 4; ++seed) {
    Bench bench;
    Random random(seed);
    std::vector<work::TrackedTake> states{bench.now()};
    std::vector<model::Edit> undos;
    for (int step = 0; step < 14; ++step) {
      const work::BeatEdits edits = any_act(random, bench.project, states.back());
      if (!edits || edits->empty()) continue;
      undos.push_back(bench.perform(edits));
      states.push_back(bench.now());
      if (states.back().track.beats.size() < 20) break;
    }
    performed += static_cast<int>(undos.size());
    while (!undos.empty()) {
      REQUIRE(model::apply(bench.project, undos.back()));
      undos.pop_back();
      states.pop_back();
      const work::TrackedTake now = bench.now();
      REQUIRE(same_track(now.track, states.back().track));
      REQUIRE(now.efforts == states.back().efforts);
    }
    CHECK(bench.project.marks.empty());
  }
  CHECK(performed > 30);
}

TEST_CASE("beat edits: saved, read again and tracked anew, the corrected beats are the same",
          "[work]") {
  Bench bench;
  const std::vector<dsp::Beat> beats = bench.now().track.beats;
  bench.perform(work::delete_beat(bench.project, bench.now(), beats[6].frame));
  bench.perform(work::insert_beat(bench.project, bench.now(), beats[8].frame + frames(0.11)));
  bench.perform(
      work::move_beat(bench.project, bench.now(), beats[12].frame, beats[12].frame + frames(0.05)));
  bench.perform(
      work::set_revolution(bench.project, bench.now(), {beats[14].frame, beats[18].frame}));
  bench.perform(work::halve_beats(bench.project, bench.now(), {beats[19].frame, beats[24].frame}));
  bench.perform(
      work::retrack_between(bench.project, bench.now(), beats[25].frame, beats[29].frame, 4));
  bench.perform(
      work::set_effort(bench.project, bench.now(), {beats[0].frame, beats[9].frame}, Effort::hard));
  const work::TrackedTake before = bench.now();
  CHECK_FALSE(same_track(before.track, Bench().now().track));
  {
    Result<work::Session> made = work::Session::create(bench.folder / "p.fourbeat", bench.project);
    REQUIRE(made);
    REQUIRE(made->save());
  }
  const Result<work::Session> read = work::Session::open(bench.folder / "p.fourbeat");
  INFO((read ? std::string() : to_line(read.error())));
  REQUIRE(read);
  CHECK(read->project() == bench.project);
  JobControl job;
  const Result<work::TrackedTake> again =
      work::track_take(read->project(), bench.folder.path(), the_take, job);
  REQUIRE(again);
  CHECK(same_track(again->track, before.track));
  CHECK(again->efforts[2] == Effort::hard);
  CHECK(again->idle_marks.empty());
}

TEST_CASE("beat edits: what cannot be is refused in words", "[work]") {
  Bench bench;
  const work::TrackedTake take = bench.now();
  const std::vector<dsp::Beat>& beats = take.track.beats;
  const FrameIndex end = FrameIndex(0) + bench.project.takes[0].frames;
  const auto refused = [&](const work::BeatEdits& edits) {
    REQUIRE_FALSE(edits);
    CHECK(edits.error().code == ErrorCode::bad_argument);
    CHECK(edits.error().file == "take.wav");
    CHECK_FALSE(edits.error().mend.empty());
    return edits.error().detail;
  };
  const model::Project& project = bench.project;
  CHECK(refused(work::insert_beat(project, take, beats[5].frame + frames(0.01)))
            .find("there is a beat") == 0);
  CHECK(refused(work::insert_beat(project, take, end)).find("is outside") == 0);
  CHECK(refused(work::delete_beat(project, take, beats[5].frame + frames(0.125)))
            .find("there is no beat") == 0);
  CHECK(refused(work::move_beat(project, take, beats[5].frame, beats[6].frame + frames(0.05)))
            .find("is on or past") == 0);
  CHECK(refused(work::halve_beats(project, take, {beats[5].frame, beats[7].frame}))
            .find("the stretch holds 2") == 0);
  CHECK(refused(work::double_beats(project, take, {beats[5].frame, beats[5].frame}))
            .find("the stretch is empty") == 0);
  CHECK(refused(work::set_revolution(project, take, {beats[5].frame, beats[8].frame}))
            .find("3 beats to") == 0);
  CHECK(refused(work::retrack_between(project, take, beats[9].frame, beats[5].frame))
            .find("is not after") == 0);
  CHECK(refused(work::retrack_between(project, take, beats[5].frame, beats[9].frame, 0))
            .find("0 intervals") == 0);
  CHECK(
      refused(work::set_effort(project, take, {beats[5].frame, end + FrameCount(1)}, Effort::easy))
          .find("is outside") == 0);
  work::TrackedTake nobody = take;
  nobody.take = Id<model::Take>(77);
  CHECK(work::insert_beat(project, nobody, FrameIndex(0)).error().code == ErrorCode::not_found);
}
