// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/piece.h"

#include "support/catch.h"
#include "support/sample_project.h"

#include <functional>
#include <set>

using namespace fourbeat;
using namespace fourbeat::model;
using fourbeat::tests::sample_project;

namespace {

std::vector<std::string> names_of(const Project& project) {
  std::vector<std::string> names;
  for (const Piece& piece : list_pieces(project)) {
    names.push_back(piece.name);
  }
  return names;
}

}  // namespace

TEST_CASE("pieces: segments in the order of their sounds, once each, then chuffs", "[model]") {
  const Project project = sample_project();
  CHECK(names_of(project) ==
        std::vector<std::string>{"whistle-hold", "whistle-release",
                                 "chuff-hard-000-cocks_open-r1-1", "chuff-hard-000-cocks_open-r1-2",
                                 "chuff-hard-000-cocks_open-r1-3", "chuff-hard-000-cocks_open-r1-4",
                                 "chuff-hard-000-cocks_open-r2-1", "chuff-hard-000-cocks_open-r2-2",
                                 "chuff-hard-000-cocks_open-r2-3", "chuff-hard-000-cocks_open-r2-4",
                                 "chuff-hard-000-cocks_open-loop"});
  const std::vector<Piece> pieces = list_pieces(project);
  CHECK(pieces[0].loop == project.segments[0].loop);
  CHECK(pieces[0].key.segment == Id<Segment>(6));
  CHECK(pieces[0].category == Category::whistle);
  CHECK(pieces[5].key.row == Id<ChuffRow>(10));
  CHECK_FALSE(pieces[5].key.segment.is_set());
  CHECK(pieces[6].key.revolution == 1);
  CHECK(pieces[7].key.position == 1);
  CHECK(pieces[7].category == Category::exhaust);
  CHECK(pieces[7].gain_db == -0.5);
  CHECK(pieces[7].playback_db == 1.0);
  CHECK(pieces[7].importance == 3.0);
  CHECK(pieces[7].priority == 95);
  CHECK(pieces[7].fade_in_frames == FrameCount(120));
  CHECK(pieces[7].tilt_db_per_octave == -0.75);
  CHECK(pieces[10].key.row == Id<ChuffRow>(10));
  CHECK(pieces[10].key.revolution == fused_revolution);
  CHECK(pieces[10].loop == project.chuffs.rows[0].fused->loop);
  CHECK(pieces[10].gain_db == -1.25);
}

TEST_CASE("pieces: a shared segment is played at the loudest and weighs the most of its sounds",
          "[model]") {
  Project project = sample_project();
  project.sounds[1].priority = 10;
  project.sounds[1].importance = 9;
  const Piece piece = list_pieces(project)[1];
  CHECK(piece.playback_db == -1.0);
  CHECK(piece.priority == 70);
  CHECK(piece.importance == 9.0);
}

TEST_CASE("pieces: a segment that is not there gives nothing", "[model]") {
  Project project = sample_project();
  project.segments.erase(project.segments.begin());
  CHECK(names_of(project).front() == "whistle-release");
}

TEST_CASE("pieces: no set, no pieces", "[model]") {
  CHECK(list_pieces(Project{}).empty());
}

TEST_CASE("pieces: names are unique, safe and short whatever the sounds are called", "[model]") {
  Project project = sample_project();
  project.segments.clear();
  project.sounds.clear();
  std::int64_t id = 100;
  for (const std::string& name :
       {std::string("A"), std::string("a"), std::string("a-2"), std::string("A!"), std::string(""),
        std::string("Дым"), std::string(60, 'x'), std::string(61, 'x'), std::string("../etc"),
        std::string("chuff-hard-000-r1-1")}) {
    Segment segment;
    segment.id = Id<Segment>(id++);
    Sound sound;
    sound.name = name;
    sound.segment = segment.id;
    project.segments.push_back(segment);
    project.sounds.push_back(sound);
  }
  ChuffRow same = project.chuffs.rows[0];
  same.id = Id<ChuffRow>(id++);
  same.from_kmh = 0.4;
  project.chuffs.rows.push_back(same);
  const std::vector<std::string> names = names_of(project);
  CHECK(names[0] == "a");
  CHECK(names[1] == "a-2");
  CHECK(names[2] == "a-2-2");
  CHECK(names[7] == std::string(46, 'x') + "-2");
  std::set<std::string> seen;
  for (const std::string& name : names) {
    CHECK(seen.insert(name).second);
    CHECK(name.size() <= 48);
    CHECK(name.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789_-") == std::string::npos);
  }
  CHECK(names.size() == 10 + 18);
}

TEST_CASE("pieces: the part of a held sound stays in a long name", "[model]") {
  Project project = sample_project();
  const std::string name(60, 'w');
  project.sounds[0].name = name;
  project.sounds[0].begin = Id<Segment>(6);
  project.sounds[0].hold = Id<Segment>(7);
  const std::vector<std::string> names = names_of(project);
  CHECK(names[0] == name.substr(0, 42) + "-begin");
  CHECK(names[1] == name.substr(0, 43) + "-hold");
}

TEST_CASE("pieces: a chuff is named by effort, speed, revolution and position", "[model]") {
  Project project = sample_project();
  project.chuffs.rows[0].from_kmh = 19.6;
  project.chuffs.rows[0].effort = Effort::easy;
  project.chuffs.rows[0].condition = Condition::normal;
  CHECK(names_of(project)[3] == "chuff-easy-020-r1-2");
}

TEST_CASE("recipe: whatever changes what is heard changes the hash, and nothing else does",
          "[model]") {
  const Project project = sample_project();
  const std::string before = recipe_hash(project, piece_of(project.segments[0]));
  CHECK(before.size() == 64);
  const auto changed = [&](const std::function<void(Project&, Segment&)>& change) {
    Project other = project;
    change(other, other.segments[0]);
    return recipe_hash(other, piece_of(other.segments[0])) != before;
  };
  CHECK(changed([](Project& p, Segment&) { p.takes[0].sha256[0] = 'd'; }));
  CHECK(changed([](Project& p, Segment&) { p.passes[0].takes[0].offset_frames = FrameCount(1); }));
  CHECK(changed([](Project&, Segment& s) { s.source.mix[0].channel = 1; }));
  CHECK(changed([](Project&, Segment& s) { s.source.mix[0].gain_db += 1e-9; }));
  CHECK(changed([](Project&, Segment& s) { s.source.mix[0].delay_frames = FrameCount(0); }));
  CHECK(changed([](Project&, Segment& s) { s.source.mix[0].inverted = false; }));
  CHECK(changed([](Project&, Segment& s) { s.source.mix.push_back(s.source.mix[0]); }));
  CHECK(changed([](Project&, Segment& s) { std::swap(s.source.clean[0], s.source.clean[1]); }));
  CHECK(changed([](Project&, Segment& s) { std::get<HighPass>(s.source.clean[0]).order = 4; }));
  CHECK(changed([](Project&, Segment& s) { std::get<HumNotch>(s.source.clean[1]).q = 26; }));
  CHECK(changed([](Project&, Segment& s) { s.range.end = FrameIndex(96'001); }));
  CHECK(changed([](Project&, Segment& s) { s.gain_db = 0; }));
  CHECK(changed([](Project&, Segment& s) { s.fade_in_frames = FrameCount(0); }));
  CHECK(changed([](Project&, Segment& s) { s.fade_out_frames = FrameCount(0); }));
  CHECK(changed([](Project&, Segment& s) { s.loop.reset(); }));
  CHECK(changed([](Project&, Segment& s) { s.loop->range.start = FrameIndex(10'001); }));
  CHECK(changed([](Project&, Segment& s) { s.loop->crossfade_frames = FrameCount(2401); }));
  CHECK(changed([](Project&, Segment& s) { s.loop->crossfade_at = CrossfadeAt::end; }));
  CHECK(changed([](Project&, Segment& s) { s.loop->drift_db = -0.01; }));
  CHECK(changed([](Project&, Segment& s) { s.loop->octave_drift_db = {0.01}; }));
  CHECK_FALSE(changed([](Project&, Segment& s) { s.name = "other"; }));
  CHECK_FALSE(changed([](Project& p, Segment& s) {
    s.extra.clear();
    p.takes[0].path = "elsewhere.wav";
    p.takes[1].sha256[0] = 'd';
    p.sounds[0].gain_db = 3;
  }));
  CHECK_FALSE(changed([](Project&, Segment& s) { s.loop->extra.clear(); }));
}

TEST_CASE("recipe: a tilt changes it", "[model]") {
  const Project project = sample_project();
  Piece piece = list_pieces(project)[3];
  const std::string before = recipe_hash(project, piece);
  piece.tilt_db_per_octave = 0.0;
  CHECK(recipe_hash(project, piece) != before);
}

TEST_CASE("recipe: minus zero is zero", "[model]") {
  Project project = sample_project();
  project.segments[0].gain_db = 0.0;
  const std::string before = recipe_hash(project, piece_of(project.segments[0]));
  project.segments[0].gain_db = -0.0;
  CHECK(recipe_hash(project, piece_of(project.segments[0])) == before);
}

TEST_CASE("verdict: one on a fused row is found by its piece and lapses with its recipe",
          "[model]") {
  Project project = sample_project();
  const std::vector<Piece> looped = looped_pieces(project);
  REQUIRE(looped.size() == 2);
  CHECK(looped[0].key.segment == Id<Segment>(6));
  CHECK(looped[1].key.row == Id<ChuffRow>(10));
  CHECK(looped[1].key.revolution == fused_revolution);
  CHECK(verdict_in_force(project, looped[1]) == nullptr);
  CHECK(last_verdict(project, looped[1].key) == nullptr);
  CHECK(last_verdict(project, looped[0].key) == &project.verdicts[0]);  // lapsed
  Verdict verdict;
  verdict.row = looped[1].key.row;
  verdict.recipe = recipe_hash(project, looped[1]);
  project.verdicts.push_back(verdict);
  CHECK(verdict_in_force(project, looped[1]) == &project.verdicts[1]);
  CHECK(verdict_in_force(project, looped[0]) == nullptr);
  // A chuff of the same row is not the row's loop.
  PieceKey chuff = looped[1].key;
  chuff.revolution = 0;
  CHECK(last_verdict(project, chuff) == nullptr);
  FusedLoop& fused = *project.chuffs.rows[0].fused;
  fused.loop.crossfade_frames = fused.loop.crossfade_frames + FrameCount(1);
  CHECK(verdict_in_force(project, looped_pieces(project)[1]) == nullptr);
  CHECK(last_verdict(project, looped[1].key) == &project.verdicts[1]);
}

TEST_CASE("verdict: the last one of the present recipe is in force, and lapses with it",
          "[model]") {
  Project project = sample_project();
  Segment& segment = project.segments[0];
  CHECK(verdict_in_force(project, segment) == nullptr);  // its recipe is another
  Verdict verdict = project.verdicts[0];
  verdict.recipe = recipe_hash(project, piece_of(segment));
  verdict.kind = VerdictKind::rejected;
  project.verdicts.push_back(verdict);
  verdict.kind = VerdictKind::signed_off;
  project.verdicts.push_back(verdict);
  Verdict other = verdict;
  other.segment = Id<Segment>(7);
  project.verdicts.push_back(other);
  REQUIRE(verdict_in_force(project, segment) == &project.verdicts[2]);
  segment.gain_db += 1;
  CHECK(verdict_in_force(project, segment) == nullptr);
  segment.gain_db -= 1;
}
