// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/edit.h"

#include "support/catch.h"
#include "support/sample_project.h"

#include <limits>

using namespace fourbeat;
using namespace fourbeat::model;
using fourbeat::tests::sample_project;

namespace {

/// Applies an edit that must be refused, and proves that nothing changed.
Error refused(const Project& project, const Edit& edit) {
  Project changed = project;
  const Result<Edit> done = model::apply(changed, edit);
  REQUIRE_FALSE(done);
  CHECK(changed == project);
  return done.error();
}

Project applied(Project project, const Edit& edit) {
  const Result<Edit> done = model::apply(project, edit);
  INFO((done ? std::string() : to_line(done.error())));
  REQUIRE(done);
  return project;
}

}  // namespace

TEST_CASE("edit: an unset id is drawn, and a used one is never given out again", "[model]") {
  Project project = sample_project();
  Key key;
  key.number = 5;
  const Result<Edit> undo = model::apply(project, Add<Key>{key, std::nullopt});
  REQUIRE(undo);
  CHECK(project.keys.back().id == Id<Key>(17));
  CHECK(last_drawn<Key>(project) == Id<Key>(17));
  REQUIRE(model::apply(project, *undo));
  CHECK(project.keys == sample_project().keys);
  CHECK(project.next_id == 18);
  REQUIRE(model::apply(project, Add<Key>{key, 0}));
  CHECK(project.keys.front().id == Id<Key>(18));
}

TEST_CASE("edit: an id that is given is kept, and the counter goes past it", "[model]") {
  Cv cv;
  cv.id = Id<Cv>(100);
  const Project project = applied(sample_project(), Add<Cv>{cv, std::nullopt});
  CHECK(project.next_id == 101);
  CHECK(refused(project, Add<Cv>{cv, std::nullopt}).place == "/cvs/2/id");
  cv.id = Id<Cv>(-1);
  CHECK(refused(project, Add<Cv>{cv, std::nullopt}).place == "/cvs/2/id");
  cv.id = Id<Cv>(std::numeric_limits<std::int64_t>::max());
  CHECK(refused(project, Add<Cv>{cv, std::nullopt}).code == ErrorCode::bad_argument);
}

TEST_CASE("edit: a place beyond the list is refused", "[model]") {
  CHECK(refused(sample_project(), Add<Cv>{Cv{}, 2}).place == "at");
}

TEST_CASE("edit: what others refer to stays, and they are named", "[model]") {
  const Project project = sample_project();
  const Error take = refused(project, Remove<Take>{Id<Take>(1)});
  CHECK(take.code == ErrorCode::in_use);
  CHECK(take.place == "/takes/0");
  CHECK(take.detail ==
        "take 1 is used by pass 4 “Up the bank”, segment 6 “Whistle hold”, segment 7 “Whistle "
        "end”, chuff_row 10");
  CHECK(refused(project, Remove<Take>{Id<Take>(2)}).code == ErrorCode::in_use);
  CHECK(refused(project, Remove<Pass>{Id<Pass>(4)}).code == ErrorCode::in_use);
  CHECK(refused(project, Remove<Segment>{Id<Segment>(6)}).detail ==
        "segment 6 is used by sound 8 “Whistle”, verdict 13");
  CHECK(refused(project, Remove<Sound>{Id<Sound>(8)}).detail == "sound 8 is used by key 11");
  CHECK(applied(project, Remove<Sound>{Id<Sound>(9)}).sounds.size() == 1);
  CHECK(applied(project, Remove<ChuffRow>{Id<ChuffRow>(10)}).chuffs.rows.empty());
}

TEST_CASE("edit: the verdicts on a fused row go with it, and come back in their places",
          "[model]") {
  Project before = sample_project();
  const Id<ChuffRow> row(10);
  const Verdict of_segment = before.verdicts[0];
  for (int i = 0; i < 2; ++i) {
    Verdict verdict = of_segment;
    verdict.id = {};
    verdict.segment = {};
    verdict.row = row;
    verdict.note = std::to_string(i);
    before = applied(before, Add<Verdict>{verdict, i == 0 ? 0 : 2});
  }
  REQUIRE(before.verdicts.size() == 3);
  ChuffTable emptied = before.chuffs;
  emptied.rows.clear();
  for (const Edit& edit : {Edit(Remove<ChuffRow>{row}), Edit(SetChuffTable{emptied})}) {
    Project project = before;
    const Result<Edit> back = apply(project, edit);
    REQUIRE(back);
    CHECK(project.verdicts == std::vector<Verdict>{of_segment});
    const Result<Edit> again = apply(project, *back);
    REQUIRE(again);
    CHECK(project == before);
    REQUIRE(apply(project, *again));
    CHECK(project.chuffs.rows.empty());
    CHECK(project.verdicts == std::vector<Verdict>{of_segment});
  }
  // A table that keeps the row keeps them.
  CHECK(applied(before, SetChuffTable{before.chuffs}).verdicts == before.verdicts);
}

TEST_CASE("edit: what does not exist cannot be removed, replaced or set", "[model]") {
  const Project project = sample_project();
  CHECK(refused(project, Remove<Key>{Id<Key>(99)}).code == ErrorCode::not_found);
  CHECK(refused(project, Remove<Key>{}).code == ErrorCode::not_found);
  CHECK(refused(project, Replace<Sound>{}).code == ErrorCode::not_found);
  CHECK(refused(project, SetLoop{Id<Segment>(99), {}}).code == ErrorCode::not_found);
  CHECK(refused(project, SetRights{Id<Pass>(1), {}}).code == ErrorCode::not_found);
  CHECK(refused(project, SetSoundGain{Id<Sound>(), 0}).code == ErrorCode::not_found);
}

TEST_CASE("edit: a reference that leads nowhere and a number out of range are refused by place",
          "[model]") {
  const Project project = sample_project();
  Key key;
  key.sound = Id<Sound>(99);
  CHECK(refused(project, Add<Key>{key, std::nullopt}).place == "/keys/1/sound");
  CHECK(refused(project, SetSegmentGain{Id<Segment>(7), 41}).place == "/segments/1/gain_db");
  CHECK(refused(project, SetSegmentGain{Id<Segment>(7), std::nan("")}).code ==
        ErrorCode::not_finite);
  CHECK(refused(project, TrimSegment{Id<Segment>(7), frame_range(5, 4)}).place ==
        "/segments/1/range");
  CHECK(refused(project, SetLoop{Id<Segment>(7), Loop{frame_range(5, 4), {}, {}, 0.0, {}, {}}})
            .place == "/segments/1/loop/range");
  CHECK(refused(project, TrimSegment{Id<Segment>(7), frame_range(5, 5)}).place ==
        "/segments/1/range");
  CHECK(refused(project, SetTitle{"\xc3"}).place == "/title");
  CHECK(refused(project, SetDate{"2024-13-01"}).place == "/date");
  CHECK(refused(project, SetRunCards{{"a", ""}}).place == "/run_cards/1");
  CHECK(refused(project, SetCv{3, 2'000'000}).place == "/cvs/0/value");
  CHECK(refused(project, SetCv{-2'000'000, 1}).place == "/cvs/1/number");
  Engine engine;
  engine.beats_per_rev = 17;
  CHECK(refused(project, SetEngine{engine}).place == "/engine/beats_per_rev");
}

TEST_CASE("edit: a loop or a trim outside the material is allowed", "[model]") {
  const Loop loop{frame_range(-500, 500'000'000), FrameCount(9'999'999), {}, 0.0, {}, {}};
  CHECK(applied(sample_project(), SetLoop{Id<Segment>(7), loop}).segments[1].loop == loop);
  CHECK(
      applied(sample_project(), TrimSegment{Id<Segment>(6), frame_range(1, 2)}).segments[0].range ==
      frame_range(1, 2));
}

TEST_CASE("edit: a pass keeps the takes that mixes need, and a take the rate of its pass",
          "[model]") {
  const Project project = sample_project();
  Pass pass = project.passes[0];
  pass.takes.erase(pass.takes.begin());
  const Error dropped = refused(project, Replace<Pass>{pass});
  CHECK(dropped.code == ErrorCode::in_use);
  CHECK(dropped.place == "/segments/0/source/mix/0/take");
  pass = project.passes[0];
  pass.takes.pop_back();
  CHECK(applied(project, Replace<Pass>{pass}).passes[0].takes.size() == 1);
  Take take = project.takes[1];
  take.sample_rate_hz = 44100;
  CHECK(refused(project, Replace<Take>{take}).place == "/passes/0/takes/1/take");
  take = project.takes[2];
  take.sample_rate_hz = 44100;
  CHECK(applied(project, Replace<Take>{take}).takes[2].sample_rate_hz == 44100);
}

TEST_CASE("edit: a take keeps the channels that mixes use", "[model]") {
  const Project project = sample_project();
  Take take = project.takes[0];
  take.channels = 3;
  CHECK(applied(project, Replace<Take>{take}).takes[0].channels == 3);
  take.channels = 2;
  take.microphones.clear();
  const Error error = refused(project, Replace<Take>{take});
  CHECK(error.code == ErrorCode::in_use);
  CHECK(error.place == "/segments/0/source/mix/0/channel");
}

TEST_CASE("edit: setting a CV changes its entry, or adds one", "[model]") {
  const Project project = applied(sample_project(), SetCv{3, 44});
  REQUIRE(project.cvs.size() == 1);
  CHECK(project.cvs[0].value == 44);
  CHECK(project.cvs[0].note == "slow");
  const Project more = applied(project, SetCv{4, 9});
  REQUIRE(more.cvs.size() == 2);
  CHECK(more.cvs[1].number == 4);
  CHECK(more.cvs[1].id == Id<Cv>(17));
}

TEST_CASE("edit: a chuff table draws the ids of its rows and keeps those given", "[model]") {
  ChuffTable table = sample_project().chuffs;
  ChuffRow fresh = table.rows[0];
  fresh.id = {};
  ChuffRow given = fresh;
  given.id = Id<ChuffRow>(17);
  table.rows = {fresh, given, fresh};
  const Project project = applied(sample_project(), SetChuffTable{table});
  CHECK(project.chuffs.rows[0].id == Id<ChuffRow>(18));
  CHECK(project.chuffs.rows[1].id == Id<ChuffRow>(17));
  CHECK(project.chuffs.rows[2].id == Id<ChuffRow>(19));
  CHECK(project.next_id == 20);
  table.rows = {given, given};
  CHECK(refused(sample_project(), SetChuffTable{table}).place == "/chuffs/rows/1/id");
  table.rows = {fresh};
  table.rows[0].to_kmh = -1;
  CHECK(refused(sample_project(), SetChuffTable{table}).place == "/chuffs/rows/0/to_kmh");
}

TEST_CASE("edit: a group is all or nothing, and its error says which edit", "[model]") {
  Key key;
  key.number = 7;
  const Error error =
      refused(sample_project(),
              EditGroup{{SetTitle{"x"}, Add<Key>{key, std::nullopt},
                         EditGroup{{SetTitle{"y"}, Remove<Take>{Id<Take>(1)}}}, SetTitle{"z"}}});
  CHECK(error.code == ErrorCode::in_use);
  CHECK(error.place == "edit 3: edit 2: /takes/0");
}

TEST_CASE("edit: a group may build on the ids it draws, and undoes in reverse", "[model]") {
  Project project = sample_project();
  const Project before = project;
  Sound sound;
  sound.name = "Bell";
  sound.segment = Id<Segment>(7);
  Key key;
  key.sound = Id<Sound>(project.next_id);
  const Result<Edit> undo = model::apply(
      project, EditGroup{{Add<Sound>{sound, std::nullopt}, Add<Key>{key, std::nullopt}}});
  REQUIRE(undo);
  CHECK(project.keys[1].sound == project.sounds[2].id);
  const Project after = project;
  const Result<Edit> redo = model::apply(project, *undo);
  REQUIRE(redo);
  Project back = project;
  back.next_id = before.next_id;
  CHECK(back == before);
  REQUIRE(model::apply(project, *redo));
  CHECK(project == after);
}

TEST_CASE("edit: an empty group does nothing", "[model]") {
  CHECK(applied(sample_project(), EditGroup{}) == sample_project());
}
