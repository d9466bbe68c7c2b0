// SPDX-License-Identifier: GPL-3.0-or-later
#include "good_project.h"

namespace fourbeat::tests {

std::vector<check::Snag> Case::snags(std::string_view rule) const {
  std::vector<check::Snag> found;
  const auto rules = check::rules();
  const auto at = std::find_if(rules.begin(), rules.end(),
                               [&](const check::Rule& r) { return r.name == rule; });
  REQUIRE(at != rules.end());
  at->run(project, facts, found);
  for (const check::Snag& snag : found)
    CHECK(snag.rule == rule);
  return found;
}

model::ChuffRow good_row(std::int64_t id, double from_kmh, double to_kmh, model::Effort effort) {
  model::ChuffRow row;
  row.id = Id<model::ChuffRow>(id);
  row.from_kmh = from_kmh;
  row.to_kmh = to_kmh;
  row.effort = effort;
  std::int64_t frame = 100'000 * id;
  for (int r = 0; r < 2; ++r) {
    model::Revolution revolution;
    revolution.source = {Id<model::Pass>(2), {{Id<model::Take>(1), 1, 0.0, {}, false, {}}}, {}, {}};
    for (int p = 0; p < 4; ++p) {
      model::Chuff chuff;
      chuff.range = frame_range(frame, frame + 2880);
      chuff.beat_frame = FrameIndex(frame + 240);
      revolution.chuffs.push_back(chuff);
      frame += 12'000;
    }
    row.revolutions.push_back(revolution);
  }
  return row;
}

model::FusedLoop good_fused() {
  model::FusedLoop fused;
  fused.source = {Id<model::Pass>(2), {{Id<model::Take>(1), 1, 0.0, {}, false, {}}}, {}, {}};
  fused.range = frame_range(5'000'000, 5'096'000);
  fused.loop = {
      frame_range(5'010'000, 5'090'000), FrameCount(4800), model::CrossfadeAt::end, 0.0, {}, {}};
  fused.recorded_kmh = 58.0;
  return fused;
}

Case good_case() {
  using namespace model;
  Case good;
  Project& project = good.project;
  project.title = "Tern Valley No. 3";
  project.date = "2024-05-01";
  project.decoder = "small";
  project.engine.driver_diameter_mm = 1500.0;
  project.engine.top_speed_kmh = 60.0;
  project.next_id = 100;

  Take take;
  take.id = Id<Take>(1);
  take.path = "takes/bank.wav";
  take.sha256 = std::string(64, 'a');
  take.sample_rate_hz = good_rate_hz;
  take.channels = 2;
  take.frames = FrameCount(10'000'000);
  project.takes.push_back(take);
  Pass pass;
  pass.id = Id<Pass>(2);
  pass.name = "Up the bank";
  pass.takes.push_back({take.id, {}, {}});
  pass.rights = Rights{"The engine's owner", "this set", "2030-12-31", {}};
  project.passes.push_back(pass);

  for (const std::int64_t id : {10, 11, 12, 13}) {
    Segment segment;
    segment.id = Id<Segment>(id);
    segment.name = "Segment " + std::string(1, static_cast<char>('A' + id - 10));
    segment.source = {pass.id, {{take.id, 1, 0.0, {}, false, {}}}, {}, {}};
    segment.range = frame_range(id * 100'000, id * 100'000 + 60'000);
    if (id == 11)
      segment.loop =
          Loop{frame_range(1'110'000, 1'150'000), FrameCount(4800), CrossfadeAt::end, 0.0, {}, {}};
    project.segments.push_back(segment);
  }
  Verdict verdict;
  verdict.id = Id<Verdict>(20);
  verdict.segment = Id<Segment>(11);
  verdict.recipe = recipe_hash(project, piece_of(project.segments[1]));
  project.verdicts.push_back(verdict);

  Sound whistle;
  whistle.id = Id<Sound>(30);
  whistle.name = "Whistle";
  whistle.kind = SoundKind::held;
  whistle.begin = Id<Segment>(10);
  whistle.hold = Id<Segment>(11);
  whistle.release = Id<Segment>(12);
  project.sounds.push_back(whistle);
  Sound bell;
  bell.id = Id<Sound>(31);
  bell.name = "Bell";
  bell.segment = Id<Segment>(13);
  project.sounds.push_back(bell);

  // At 60 km/h a beat every 70.7 ms.
  project.chuffs.rows = {good_row(40, 0.0, 30.0, Effort::easy),
                         good_row(41, 30.0, 60.0, Effort::easy),
                         good_row(42, 0.0, 60.0, Effort::hard)};

  Key key;
  key.id = Id<Key>(50);
  key.number = 2;
  key.label = "Whistle";
  key.mode = KeyMode::momentary;
  key.sound = whistle.id;
  project.keys.push_back(key);
  key.id = Id<Key>(51);
  key.number = 3;
  key.label = "Bell";
  key.sound = bell.id;
  project.keys.push_back(key);

  Cv cv;
  cv.id = Id<Cv>(60);
  cv.number = 3;
  cv.value = 20;
  project.cvs.push_back(cv);
  cv.id = Id<Cv>(61);
  cv.number = 29;
  cv.value = 6;
  project.cvs.push_back(cv);

  DecoderProfile profile;
  profile.id = "small";
  profile.memory_bytes = 1'000'000;
  profile.voices = 4;
  profile.highest_key = 12;
  profile.max_sounds = 64;
  profile.chuffs_may_overlap = false;
  profile.sample_rates_hz = {22'050};
  profile.bits = {8};
  good.facts.profile = profile;
  good.facts.takes.push_back({take.id, store::TakeState::present, "takes/bank.wav", ""});
  dsp::SeamReport seam;
  seam.rank = 60.0;
  seam.state = dsp::SeamState::clean;
  good.facts.seams.emplace(Id<Segment>(11), seam);
  good.facts.bytes_used = 900'000;
  good.facts.voices_peak = 4;
  const auto definitions = store::load_cv_definitions();
  REQUIRE(definitions);
  good.facts.cv_definitions = *definitions;
  return good;
}

}  // namespace fourbeat::tests
