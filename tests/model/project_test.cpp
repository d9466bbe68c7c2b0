// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/project.h"

#include "support/catch.h"
#include "support/sample_project.h"

using namespace fourbeat;
using namespace fourbeat::model;
using fourbeat::tests::sample_project;

TEST_CASE("project: an id finds its entity, a missing or unset one finds null", "[model]") {
  const Project project = sample_project();
  CHECK(find(project, Id<Take>(2)) == &project.takes[1]);
  CHECK(find(project, Id<Pass>(4)) == &project.passes[0]);
  CHECK(find(project, Id<Mark>(5)) == &project.marks[0]);
  CHECK(find(project, Id<Segment>(7)) == &project.segments[1]);
  CHECK(find(project, Id<Sound>(9)) == &project.sounds[1]);
  CHECK(find(project, Id<ChuffRow>(10)) == &project.chuffs.rows[0]);
  CHECK(find(project, Id<Key>(11)) == &project.keys[0]);
  CHECK(find(project, Id<Cv>(12)) == &project.cvs[0]);
  CHECK(find(project, Id<Verdict>(13)) == &project.verdicts[0]);
  CHECK(find(project, Id<Take>(99)) == nullptr);
  Project unset = project;
  unset.takes[0].id = {};
  CHECK(find(unset, Id<Take>()) == nullptr);
}

TEST_CASE("project: a take's pass is the one that lists it", "[model]") {
  const Project project = sample_project();
  CHECK(pass_of(project, Id<Take>(2)) == &project.passes[0]);
  CHECK(pass_of(project, Id<Take>(3)) == nullptr);
  CHECK(pass_of(project, Id<Take>()) == nullptr);
}

TEST_CASE("engine: beats without angles of their own are even", "[model]") {
  Engine engine;
  engine.beats_per_rev = 6;
  CHECK(beat_angles_deg(engine) == std::vector<double>{0, 60, 120, 180, 240, 300});
  engine.beat_angles_deg = {1, 2, 3, 4, 5, 6};
  CHECK(beat_angles_deg(engine) == engine.beat_angles_deg);
}

TEST_CASE("sound: a one-shot plays its segment, a held one those of its parts that are set",
          "[model]") {
  Sound sound;
  CHECK(segments_of(sound).empty());
  sound.segment = Id<Segment>(1);
  sound.begin = Id<Segment>(2);
  sound.release = Id<Segment>(4);
  CHECK(segments_of(sound) == std::vector{Id<Segment>(1)});
  sound.kind = SoundKind::held;
  CHECK(segments_of(sound) == std::vector{Id<Segment>(2), Id<Segment>(4)});
  sound.hold = Id<Segment>(3);
  CHECK(segments_of(sound) == std::vector{Id<Segment>(2), Id<Segment>(3), Id<Segment>(4)});
}
