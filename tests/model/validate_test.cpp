// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/model/validate.h"

#include "support/catch.h"
#include "support/sample_project.h"

#include <functional>
#include <limits>

using namespace fourbeat;
using namespace fourbeat::model;
using fourbeat::tests::sample_project;

namespace {

struct Breach {
  std::string place;
  std::function<void(Project&)> make;
  ErrorCode code = ErrorCode::bad_argument;
};

constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

}  // namespace

TEST_CASE("validate: a new project and a full one hold", "[model]") {
  CHECK(validate(Project{}));
  const Status full = validate(sample_project());
  INFO((full ? std::string() : to_line(full.error())));
  CHECK(full);
}

TEST_CASE("validate: each breach is named by its JSON Pointer", "[model]") {
  const std::vector<Breach> breaches{
      {"/title", [](Project& p) { p.title = "\xff"; }},
      {"/date", [](Project& p) { p.date = "2023-02-29"; }},
      {"/date", [](Project& p) { p.date = "2023-2-9"; }},
      {"/engine/driver_diameter_mm", [](Project& p) { p.engine.driver_diameter_mm = 299; }},
      {"/engine/top_speed_kmh", [](Project& p) { p.engine.top_speed_kmh = not_a_number; },
       ErrorCode::not_finite},
      {"/engine/beat_angles_deg", [](Project& p) { p.engine.beats_per_rev = 5; }},
      {"/engine/beat_angles_deg/3", [](Project& p) { p.engine.beat_angles_deg[3] = 360; }},
      {"/engine/beat_angles_deg/2", [](Project& p) { p.engine.beat_angles_deg[2] = 91.25; }},
      {"/takes/1/id", [](Project& p) { p.takes[1].id = Id<Take>(1); }},
      {"/takes/0/id", [](Project& p) { p.takes[0].id = Id<Take>(17); }},
      {"/takes/0/id", [](Project& p) { p.takes[0].id = {}; }},
      {"/takes/0/id", [](Project& p) { p.takes[0].id = Id<Take>(-3); }},
      {"/takes/0/path", [](Project& p) { p.takes[0].path = std::string("a\0b", 3); }},
      {"/takes/0/path", [](Project& p) { p.takes[0].path.clear(); }},
      {"/takes/0/sha256", [](Project& p) { p.takes[0].sha256[9] = 'G'; }},
      {"/takes/0/sample_rate_hz", [](Project& p) { p.takes[0].sample_rate_hz = 0; }},
      {"/takes/0/channels", [](Project& p) { p.takes[0].channels = 1025; }},
      {"/takes/0/frames", [](Project& p) { p.takes[0].frames = FrameCount(0); }},
      {"/takes/1/microphones",
       [](Project& p) {
         p.takes[1].microphones = {"a", "b"};
       }},
      {"/passes/0/takes/1/take", [](Project& p) { p.passes[0].takes[1].take = Id<Take>(3); }},
      {"/passes/0/takes/1/take", [](Project& p) { p.passes[0].takes[1].take = Id<Take>(1); }},
      {"/passes/1/takes/0/take",
       [](Project& p) {
         Pass pass;
         pass.id = Id<Pass>(1);
         pass.takes = {{Id<Take>(1), {}, {}}};
         p.passes.push_back(pass);
       }},
      {"/passes/0/rights/until", [](Project& p) { p.passes[0].rights->until = "soon"; }},
      {"/marks/0/take", [](Project& p) { p.marks[0].take = Id<Take>(99); }},
      {"/marks/0/range", [](Project& p) { p.marks[0].range = frame_range(2, 1); }},
      {"/marks/0/range/end_frame",
       [](Project& p) { p.marks[0].range = frame_range(0, std::int64_t{1} << 53); }},
      {"/marks/0/kind", [](Project& p) { p.marks[0].kind = static_cast<MarkKind>(16); }},
      {"/marks/0/to_frame", [](Project& p) { p.marks[0].to_frame = FrameIndex(1); }},
      {"/marks/0/effort", [](Project& p) { p.marks[0].effort = Effort::easy; }},
      {"/marks/0/beats", [](Project& p) { p.marks[0].beats = 4; }},
      {"/marks/1/to_frame", [](Project& p) { p.marks[1].to_frame.reset(); }},
      {"/marks/1/range", [](Project& p) { p.marks[1].range = frame_range(1, 2); }},
      {"/marks/2/range", [](Project& p) { p.marks[2].range = frame_range(1, 1); }},
      {"/marks/2/beats", [](Project& p) { p.marks[2].beats = 0; }},
      {"/marks/3/effort", [](Project& p) { p.marks[3].effort.reset(); }},
      {"/marks/3/range", [](Project& p) { p.marks[3].range = frame_range(1, 1); }},
      {"/engine/effort/hard_from_db", [](Project& p) { p.engine.effort->hard_from_db.reset(); }},
      {"/engine/effort/hard_from_db", [](Project& p) { p.engine.effort->hard_from_db = 1; }},
      {"/engine/effort/drifting_below_share",
       [](Project& p) { p.engine.effort->drifting_below_share.reset(); }},
      {"/engine/effort/hard_from_m_s2",
       [](Project& p) { p.engine.effort->hard_from_m_s2 = -0.04; }},
      {"/segments/0/source/pass", [](Project& p) { p.segments[0].source.pass = {}; }},
      {"/segments/0/source/mix", [](Project& p) { p.segments[0].source.mix.clear(); }},
      {"/segments/0/source/mix/0/take",
       [](Project& p) { p.segments[0].source.mix[0].take = Id<Take>(3); }},
      {"/segments/0/source/mix/0/channel",
       [](Project& p) { p.segments[0].source.mix[0].channel = 0; }},
      {"/segments/0/source/mix/0/channel",
       [](Project& p) { p.segments[0].source.mix[0].channel = 5; }},
      {"/segments/0/range", [](Project& p) { p.segments[0].range = frame_range(7, 7); }},
      {"/segments/0/loop/range", [](Project& p) { p.segments[0].loop->range = frame_range(7, 7); }},
      {"/chuffs/rows/0/revolutions/0/chuffs/1/range",
       [](Project& p) { p.chuffs.rows[0].revolutions[0].chuffs[1].range = frame_range(7, 7); }},
      {"/segments/0/source/clean/0/order",
       [](Project& p) { std::get<HighPass>(p.segments[0].source.clean[0]).order = 5; }},
      {"/segments/0/source/clean/1/q",
       [](Project& p) { std::get<HumNotch>(p.segments[0].source.clean[1]).q = 4; }},
      {"/segments/0/gain_db", [](Project& p) { p.segments[0].gain_db = 40.5; }},
      {"/segments/0/loop/range", [](Project& p) { p.segments[0].loop->range = frame_range(9, 3); }},
      {"/segments/0/loop/crossfade_frames",
       [](Project& p) { p.segments[0].loop->crossfade_frames = FrameCount(-1); }},
      {"/segments/0/loop/drift_db", [](Project& p) { p.segments[0].loop->drift_db = 12.01; }},
      {"/segments/0/loop/octave_drift_db/1",
       [](Project& p) {
         p.segments[0].loop->octave_drift_db = {0.0, 12.01};
       }},
      {"/segments/0/loop/octave_drift_db",
       [](Project& p) { p.segments[0].loop->octave_drift_db.assign(7, 1.0); }},
      {"/sounds/0/hold", [](Project& p) { p.sounds[0].hold = Id<Segment>(99); }},
      {"/sounds/0/priority", [](Project& p) { p.sounds[0].priority = 101; }},
      {"/sounds/0/importance", [](Project& p) { p.sounds[0].importance = 0; }},
      {"/chuffs/lead_ms", [](Project& p) { p.chuffs.lead_ms = 51; }},
      {"/chuffs/rows/0", [](Project& p) { p.chuffs.rows[0].to_kmh = 0; }},
      {"/chuffs/rows/0/revolutions/1/chuffs/2/range",
       [](Project& p) { p.chuffs.rows[0].revolutions[1].chuffs[2].range = frame_range(1, 0); }},
      {"/chuffs/rows/0/revolutions/1/source/mix/0/take",
       [](Project& p) { p.chuffs.rows[0].revolutions[1].source.mix[0].take = Id<Take>(3); }},
      {"/keys/0/number", [](Project& p) { p.keys[0].number = 69; }},
      {"/keys/0/sound", [](Project& p) { p.keys[0].sound = Id<Sound>(99); }},
      {"/verdicts/0/segment", [](Project& p) { p.verdicts[0].segment = {}; }},
      {"/verdicts/0/row", [](Project& p) { p.verdicts[0].row = Id<ChuffRow>(10); }},
      {"/verdicts/0/row",
       [](Project& p) {
         p.verdicts[0].segment = {};
         p.verdicts[0].row = Id<ChuffRow>(11);
       }},
      {"/speaker/name", [](Project& p) { p.speaker->name.clear(); }},
      {"/speaker/peak_q", [](Project& p) { p.speaker->peak_q = 0.0; }},
      {"/speaker/low_pass_hz",
       [](Project& p) {
         p.speaker->high_pass_hz = 3000;
         p.speaker->low_pass_hz = 3000;
       }},
      {"/run_cards/0", [](Project& p) { p.run_cards[0].clear(); }},
      {"/next_id", [](Project& p) {
         p = Project{};
         p.next_id = 0;
       }}};
  for (const Breach& breach : breaches) {
    Project project = sample_project();
    breach.make(project);
    const Status status = validate(project);
    INFO(breach.place);
    REQUIRE_FALSE(status);
    CHECK(status.error().place == breach.place);
    CHECK(status.error().code == breach.code);
    CHECK_FALSE(status.error().detail.empty());
  }
}

TEST_CASE("validate: what only a check may say is no breach", "[model]") {
  Project project = sample_project();
  project.segments[0].loop->range = frame_range(-900'000, 900'000'000);
  project.marks[0].range = frame_range(7, 7);
  project.marks[2].beats.reset();
  project.cvs[0].number = 2000;
  project.cvs[0].value = 300;
  project.sounds[0].hold = {};
  project.chuffs.rows.push_back(project.chuffs.rows[0]);
  project.chuffs.rows[1].id = Id<ChuffRow>(1);
  project.takes[0].path = "../../elsewhere.wav";
  CHECK(validate(project));
}
