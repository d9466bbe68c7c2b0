// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/chuff_builder.h"

#include "support/catch.h"
#include "work/steam_project.h"

#include "fourbeat/audio/loudness.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/work/produce.h"
#include "fourbeat/work/render.h"

#include <algorithm>
#include <map>

using namespace fourbeat;
using namespace fourbeat::tests;

namespace {

constexpr double rate_hz = SteamProject::rate_hz;

/// The K-weighted energy of each chuff of a revolution as it is played.
std::vector<double> energies_db(const SteamProject& made, const model::Revolution& revolution) {
  work::Renderer renderer(made.project, made.folder.path());
  std::vector<double> energies;
  for (const model::Chuff& chuff : revolution.chuffs) {
    model::Piece piece;
    piece.source = revolution.source;
    piece.range = chuff.range;
    piece.gain_db = chuff.gain_db;
    piece.fade_in_frames = chuff.fade_in_frames;
    piece.fade_out_frames = chuff.fade_out_frames;
    const auto clip = renderer.render(piece);
    REQUIRE(clip);
    const auto energy = audio::k_weighted_energy_db(clip->samples, clip->sample_rate_hz);
    REQUIRE(energy);
    energies.push_back(*energy);
  }
  return energies;
}

double mean(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double value : values)
    sum += value;
  return sum / static_cast<double>(values.size());
}

model::DecoderProfile roomy_profile() {
  model::DecoderProfile profile;
  profile.memory_bytes = 50'000'000;
  profile.sample_rates_hz = {8000, 16'000};
  profile.bits = {8, 16};
  profile.max_sounds = 1000;
  return profile;
}

}  // namespace

TEST_CASE("chuff builder: rows of an accelerating run cover rest to top speed without gaps",
          "[work]") {
  SteamProject made;
  made.add({.from_kmh = 8.0, .to_kmh = 40.0, .seconds = 30.0});
  const auto build = made.build();
  REQUIRE(build);
  REQUIRE(build->table.rows.size() >= 5);
  double reached_kmh = 0.0;
  for (const model::ChuffRow& row : build->table.rows) {
    CHECK(row.effort == model::Effort::hard);
    CHECK(row.from_kmh == reached_kmh);
    CHECK(row.to_kmh > row.from_kmh);
    reached_kmh = row.to_kmh;
    for (const model::Revolution& revolution : row.revolutions)
      CHECK(revolution.chuffs.size() == 4);
  }
  CHECK(reached_kmh == 60.0);
}

TEST_CASE("chuff builder: rows are bands of the ratio, or as many as are asked for", "[work]") {
  SteamProject made;
  made.add({.from_kmh = 8.0, .to_kmh = 58.0, .seconds = 30.0});
  work::ChuffPlan plan;
  plan.derive = false;
  plan.band_ratio = 1.5;
  const auto wide = made.build(nullptr, plan);
  REQUIRE(wide);
  // 60 / 1.5^4 = 11.9, so a fifth band holds the slowest turns.
  REQUIRE(wide->table.rows.size() == 5);
  CHECK(wide->table.rows[3].to_kmh == Approx(60.0 / 1.5).margin(0.051));
  plan.rows = 7;
  const auto seven = made.build(nullptr, plan);
  REQUIRE(seven);
  CHECK(seven->table.rows.size() == 7);
  plan.band_ratio = 1.0;
  const auto refused = made.build(nullptr, plan);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == ErrorCode::bad_argument);
  CHECK(refused.error().place == "band_ratio");
}

TEST_CASE("chuff builder: the engine's own angles are measured, speed change taken out", "[work]") {
  const std::vector<double> limp{0.0, 94.0, 178.0, 272.0};
  for (const double to_kmh : {10.0, 40.0}) {
    SteamProject made;
    made.add({.from_kmh = 10.0, .to_kmh = to_kmh, .seconds = 25.0, .angles_deg = limp});
    const auto build = made.build();
    REQUIRE(build);
    REQUIRE(build->measured_angles_deg.size() == 4);
    for (std::size_t k = 0; k < 4; ++k)
      CHECK(build->measured_angles_deg[k] == Approx(limp[k]).margin(0.5));
  }
}

TEST_CASE(
    "chuff builder: every row starts at the same place of the wheel, however each take counts",
    "[work]") {
  for (const int ahead : {0, 1, 2, 3}) {
    SteamProject made;
    made.add({.from_kmh = 20.0, .to_kmh = 34.0, .seconds = 14.0, .seed = 3});
    made.add({.from_kmh = 30.0,
              .to_kmh = 50.0,
              .seconds = 10.0,
              .gain_db = -5.0,
              .seed = 4,
              .counted_ahead = ahead});
    const auto build = made.build();
    REQUIRE(build);
    std::map<Id<model::Take>, int> of_take;
    const int start = made.true_place(build->table.rows[0].revolutions[0],
                                      build->table.rows[0].revolutions[0].chuffs[0]);
    for (const model::ChuffRow& row : build->table.rows) {
      for (const model::Revolution& revolution : row.revolutions) {
        ++of_take[revolution.source.mix.front().take];
        for (std::size_t k = 0; k < 4; ++k) {
          CHECK(made.true_place(revolution, revolution.chuffs[k]) ==
                (start + static_cast<int>(k)) % 4);
        }
      }
    }
    CHECK(of_take.size() == 2);
  }
}

TEST_CASE("chuff builder: a limp that the engine is known for says where the wheel's turn begins",
          "[work]") {
  SteamProject made;
  made.project.engine.beat_angles_deg = {0.0, 94.0, 178.0, 272.0};
  made.add({.from_kmh = 18.0, .to_kmh = 30.0, .seconds = 14.0, .counted_ahead = 2});
  const auto build = made.build();
  REQUIRE(build);
  for (const model::ChuffRow& row : build->table.rows) {
    for (const model::Revolution& revolution : row.revolutions)
      CHECK(made.true_place(revolution, revolution.chuffs[0]) == 0);
  }
}

TEST_CASE("chuff builder: a chuff begins the lead before its beat and fades in to the quiet point",
          "[work]") {
  SteamProject made;
  made.project.chuffs.lead_ms = 10.0;
  made.add({});
  work::ChuffPlan plan;
  plan.derive = false;
  const auto build = made.build(nullptr, plan);
  REQUIRE(build);
  const auto lead = static_cast<std::int64_t>(made.project.chuffs.lead_ms * rate_hz / 1000.0);
  for (const model::ChuffRow& row : build->table.rows) {
    CHECK(row.effort == model::Effort::easy);
    for (const model::Revolution& revolution : row.revolutions) {
      for (std::size_t k = 0; k < 4; ++k) {
        const model::Chuff& chuff = revolution.chuffs[k];
        CHECK((chuff.beat_frame - chuff.range.start).value() == lead);
        CHECK(chuff.fade_in_frames.value() >= 16);  // 1 ms
        CHECK(chuff.fade_in_frames.value() <= lead);
        CHECK(chuff.fade_out_frames.value() >= 128);  // 8 ms
        if (k + 1 == 4) continue;
        // It ends where the next has faded in.
        const model::Chuff& next = revolution.chuffs[k + 1];
        CHECK(chuff.range.end <= next.beat_frame);
        CHECK(chuff.range.end >= next.range.start);
      }
    }
  }
}

TEST_CASE("chuff builder: played on at its own speed a turn sounds as it was recorded", "[work]") {
  SteamProject made;
  made.add({});
  work::ChuffPlan plan;
  plan.derive = false;
  const auto build = made.build(nullptr, plan);
  REQUIRE(build);
  const model::Revolution& revolution = build->table.rows[0].revolutions[0];
  const std::int64_t first = revolution.chuffs[0].range.start.value();
  const std::int64_t last = revolution.chuffs[3].range.start.value();
  std::vector<double> joined(static_cast<std::size_t>(last - first), 0.0);
  work::Renderer renderer(made.project, made.folder.path());
  for (const model::Chuff& chuff : revolution.chuffs) {
    model::Piece piece;
    piece.source = revolution.source;
    piece.range = chuff.range;
    piece.fade_in_frames = chuff.fade_in_frames;
    piece.fade_out_frames = chuff.fade_out_frames;
    const auto clip = renderer.render(piece);
    REQUIRE(clip);
    for (std::size_t i = 0; i < clip->samples.size(); ++i) {
      const auto at = static_cast<std::size_t>(chuff.range.start.value() - first) + i;
      if (at < joined.size()) joined[at] += static_cast<double>(clip->samples[i]);
    }
  }
  const std::vector<float>& recorded = made.takes[0].steam.samples;
  double error = 0.0;
  double power = 0.0;
  for (std::size_t i = 160; i < joined.size(); ++i) {
    const auto x = static_cast<double>(recorded[static_cast<std::size_t>(first) + i]);
    error += (joined[i] - x) * (joined[i] - x);
    power += x * x;
  }
  // What is left: the tail fades longer than the next fades in.
  CHECK(10.0 * std::log10(error / power) < -30.0);
}

TEST_CASE("chuff builder: where the decoder bars overlap no chuff outlasts its row's top speed",
          "[work]") {
  SteamProject made;
  made.add(
      {.from_kmh = 8.0, .to_kmh = 40.0, .seconds = 30.0, .angles_deg = {0.0, 90.0, 180.0, 270.0}});
  model::DecoderProfile profile = roomy_profile();
  profile.chuffs_may_overlap = false;
  const auto build = made.build(&profile);
  REQUIRE(build);
  int cut = 0;
  for (const work::RowCandidates& row : build->candidates) {
    const double top_kmh = build->table.rows[row.row].to_kmh;
    const double interval_s = beat_interval_s(top_kmh, SteamProject::driver_mm, 4);
    for (const model::Revolution& revolution : build->table.rows[row.row].revolutions) {
      for (const model::Chuff& chuff : revolution.chuffs) {
        const double length_s = static_cast<double>(chuff.range.length().value()) / rate_hz;
        CHECK(length_s <= interval_s * 1.02 + 1e-4);
        if (length_s < interval_s * 0.98) continue;
        ++cut;
        CHECK(chuff.fade_out_frames.value() > 128);  // longer than where the tail has died away
      }
    }
  }
  CHECK(cut > 8);
}

TEST_CASE("chuff builder: levels follow a smooth trend over takes, accents inside a turn stay",
          "[work]") {
  SteamProject made;
  made.add({.from_kmh = 16.0, .to_kmh = 34.0, .seconds = 18.0, .seed = 5});
  made.add({.from_kmh = 26.0, .to_kmh = 50.0, .seconds = 14.0, .gain_db = -6.0, .seed = 6});
  const auto build = made.build();
  REQUIRE(build);
  std::vector<double> rows_db;
  for (const model::ChuffRow& row : build->table.rows) {
    if (row.derived) continue;
    std::vector<double> turns_db;
    for (const model::Revolution& revolution : row.revolutions) {
      const std::vector<double> played = energies_db(made, revolution);
      turns_db.push_back(mean(played));
      model::Revolution raw = revolution;
      for (model::Chuff& chuff : raw.chuffs)
        chuff.gain_db = 0.0;
      const std::vector<double> recorded = energies_db(made, raw);
      for (std::size_t k = 1; k < 4; ++k)
        CHECK(played[k] - played[0] == Approx(recorded[k] - recorded[0]).margin(0.01));
    }
    for (const double turn_db : turns_db)
      CHECK(turn_db == Approx(turns_db[0]).margin(0.05));
    rows_db.push_back(turns_db[0]);
  }
  REQUIRE(rows_db.size() >= 5);
  // Six decibels lie between the takes; none of it is left as a step between neighbouring rows.
  for (std::size_t i = 2; i < rows_db.size(); ++i)
    CHECK(std::fabs(rows_db[i] - 2.0 * rows_db[i - 1] + rows_db[i - 2]) < 1.0);
}

TEST_CASE("chuff builder: a row serves what was recorded and little more, the rest is derived",
          "[work]") {
  SteamProject made;
  made.add({.from_kmh = 14.0, .to_kmh = 30.0, .seconds = 16.0});
  const auto build = made.build();
  REQUIRE(build);
  std::vector<const model::ChuffRow*> derived;
  double recorded_from_kmh = 60.0;
  double recorded_to_kmh = 0.0;
  for (const model::ChuffRow& row : build->table.rows) {
    if (row.derived) {
      derived.push_back(&row);
      CHECK(row.revolutions.size() == 2);
      CHECK(row.derived->recorded_kmh > 13.0);
      CHECK(row.derived->recorded_kmh < 31.0);
    } else {
      recorded_from_kmh = std::min(recorded_from_kmh, row.from_kmh);
      recorded_to_kmh = std::max(recorded_to_kmh, row.to_kmh);
    }
  }
  CHECK(recorded_from_kmh > 12.5);
  CHECK(recorded_to_kmh < 33.0);
  REQUIRE(derived.size() >= 3);
  CHECK(derived.front()->from_kmh == 0.0);
  CHECK(derived.front()->to_kmh == recorded_from_kmh);
  // Slower than it was recorded, a chuff is followed by nothing: it dies away, and does not stop.
  for (const model::Chuff& slow : derived.front()->revolutions[0].chuffs)
    CHECK(slow.fade_out_frames.value() == slow.range.length().value() / 2);
  CHECK(derived.back()->to_kmh == 60.0);
  // Beats come faster there, so the tails are shorter.
  const model::Chuff& fast = derived.back()->revolutions[0].chuffs[0];
  const double interval_s = beat_interval_s(derived.back()->from_kmh, SteamProject::driver_mm, 4.0);
  CHECK(static_cast<double>(fast.range.length().value()) / rate_hz < 1.1 * interval_s);
  const auto coverage = work::coverage_of(build->table, 60.0);
  CHECK(coverage[2].recorded ==
        std::vector<work::SpeedRange>{{recorded_from_kmh, recorded_to_kmh}});
  CHECK(coverage[2].derived ==
        std::vector<work::SpeedRange>{{0.0, recorded_from_kmh}, {recorded_to_kmh, 60.0}});
  CHECK(coverage[2].missing.empty());
}

TEST_CASE("chuff builder: rows of a condition are built beside the others and leave them alone",
          "[work]") {
  SteamProject made;
  made.add({.from_kmh = 14.0, .to_kmh = 22.0, .seconds = 10.0});
  const auto normal = made.build();
  REQUIRE(normal);
  model::Project& project = made.project;
  REQUIRE(model::apply(project, model::EditGroup{normal->edits}));
  const model::ChuffTable before = project.chuffs;
  made.add({.from_kmh = 4.0, .to_kmh = 9.0, .seconds = 10.0, .seed = 9});
  work::ChuffPlan plan;
  plan.condition = model::Condition::cocks_open;
  JobControl job;
  const auto build = work::build_chuffs(project, made.folder.path(), {made.measured(made.takes[1])},
                                        nullptr, plan, job);
  REQUIRE(build);
  std::vector<model::ChuffRow> others;
  std::size_t open = 0;
  for (const model::ChuffRow& row : build->table.rows) {
    if (row.condition == model::Condition::normal) {
      others.push_back(row);
    } else {
      ++open;
      CHECK(row.condition == model::Condition::cocks_open);
      CHECK_FALSE(row.derived);
      CHECK(row.to_kmh < 11.0);
    }
  }
  CHECK(open >= 2);
  CHECK(others == before.rows);
  CHECK(work::takes_of_table(build->table, model::Condition::cocks_open) ==
        std::vector<Id<model::Take>>{made.takes[1].tracked.take});
  CHECK(work::takes_of_table(build->table).size() == 2);
}

TEST_CASE("chuff builder: beats that no longer stand apart become a fused row, others never",
          "[work]") {
  SteamProject made;
  made.add({.from_kmh = 30.0, .to_kmh = 30.0, .seconds = 8.0});
  const auto distinct = made.build();
  REQUIRE(distinct);
  for (const model::ChuffRow& row : distinct->table.rows)
    CHECK_FALSE(row.fused);
  // At 55 km/h what sounds between the same engine's beats is louder than they are.
  made.add({.from_kmh = 55.0, .to_kmh = 55.0, .seconds = 8.0, .depth_db = -12.0, .seed = 8});
  const auto build = made.build();
  REQUIRE(build);
  const model::ChuffRow* fused = nullptr;
  for (const model::ChuffRow& row : build->table.rows) {
    if (!row.fused) continue;
    CHECK(fused == nullptr);
    fused = &row;
  }
  REQUIRE(fused != nullptr);
  CHECK(fused->revolutions.empty());
  CHECK(fused->effort == model::Effort::easy);
  CHECK(fused->from_kmh == 48.0);  // 60 / 1.25
  CHECK(fused->to_kmh == 60.0);
  CHECK(fused->fused->recorded_kmh == Approx(55.0).margin(0.5));
  CHECK(fused->fused->range.contains(fused->fused->loop.range));
  const auto coverage = work::coverage_of(build->table, 60.0);
  CHECK(coverage[1].missing.empty());
  // The set renders, and its loop with it.
  model::Project project = made.project;
  REQUIRE(model::apply(project, model::EditGroup{build->edits}));
  JobControl job;
  const auto set = work::render_set(project, made.folder.path(), job);
  REQUIRE(set);
  CHECK(set->chuff_errors.empty());
  const auto loop = std::find_if(set->pieces.begin(), set->pieces.end(), [](const auto& piece) {
    return piece.key.revolution == model::fused_revolution;
  });
  REQUIRE(loop != set->pieces.end());
  CHECK(set->clips[static_cast<std::size_t>(loop - set->pieces.begin())].loop.has_value());
}

TEST_CASE("chuff builder: more revolutions a row where the decoder's memory holds them", "[work]") {
  SteamProject made;
  made.add({.seconds = 16.0});
  const auto count = [&](const model::DecoderProfile* profile) {
    work::ChuffPlan plan;
    plan.derive = false;
    const auto build = made.build(profile, plan);
    REQUIRE(build);
    REQUIRE(build->table.rows.size() == 1);
    return build->table.rows[0].revolutions.size();
  };
  CHECK(count(nullptr) == 2);
  model::DecoderProfile profile = roomy_profile();
  CHECK(count(&profile) == 4);
  // Two revolutions of four chuffs of about 0.2 s at 16 kHz and 16 bit are some 51 000 bytes;
  // a third would cost the set its depth.
  profile.memory_bytes = 60'000;
  CHECK(count(&profile) == 2);
  profile.memory_bytes = 85'000;
  CHECK(count(&profile) == 3);
  profile.memory_bytes = 50'000'000;
  profile.max_sounds = 12;
  CHECK(count(&profile) == 3);
}

TEST_CASE("chuff builder: a candidate changes places with a row's revolution by one edit",
          "[work]") {
  SteamProject made;
  made.add({.seconds = 16.0});
  const auto build = made.build();
  REQUIRE(build);
  model::Project project = made.project;
  REQUIRE(model::apply(project, model::EditGroup{build->edits}));
  REQUIRE(build->candidates.size() == 1);
  const std::vector<work::RevolutionCandidate>& candidates = build->candidates[0].candidates;
  REQUIRE(candidates.size() > 3);
  const std::size_t place = build->candidates[0].row;
  const Id<model::ChuffRow> row = project.chuffs.rows[place].id;
  const auto edit = work::use_candidate(project, row, 1, candidates[3]);
  REQUIRE(edit);
  const auto undo = model::apply(project, *edit);
  REQUIRE(undo);
  CHECK(project.chuffs.rows[place].revolutions.size() == 2);
  CHECK(project.chuffs.rows[place].revolutions[1] == candidates[3].revolution);
  REQUIRE(model::apply(project, *undo));
  CHECK(project.chuffs.rows[place].revolutions[1] == candidates[1].revolution);
  CHECK_FALSE(work::use_candidate(project, row, 5, candidates[0]));
  CHECK_FALSE(work::use_candidate(project, Id<model::ChuffRow>(99), 0, candidates[0]));
}

TEST_CASE("chuff builder: it stops when it is told to", "[work]") {
  SteamProject made;
  made.add({});
  struct StopAfter : JobControl {
    int asked_at_most = 0;
    mutable int asked = 0;
    [[nodiscard]] bool cancelled() const override { return ++asked > asked_at_most; }
  };
  for (const int asked : {0, 10, 45, 55}) {
    StopAfter stop;
    stop.asked_at_most = asked;
    const auto build =
        work::build_chuffs(made.project, made.folder.path(), made.tracked(), nullptr, {}, stop);
    REQUIRE_FALSE(build);
    CHECK(build.error().code == ErrorCode::cancelled);
  }
}

TEST_CASE("chuff builder: beats without a whole revolution are an answer in words", "[work]") {
  SteamProject made;
  SteamTake& take = made.add({.seconds = 4.0});
  take.tracked.track = {};
  const auto build = made.build();
  REQUIRE_FALSE(build);
  CHECK(build.error().code == ErrorCode::too_short);
}

TEST_CASE("chuff builder: another lead moves every chuff before its beat, and keeps its length",
          "[work]") {
  SteamProject made;
  made.add({});
  const auto build = made.build();
  REQUIRE(build);
  made.project.chuffs = build->table;
  const Result<model::ChuffTable> led = work::with_lead(made.project, 12.5);
  REQUIRE(led);
  CHECK(led->lead_ms == 12.5);
  for (std::size_t r = 0; r < led->rows.size(); ++r) {
    for (std::size_t t = 0; t < led->rows[r].revolutions.size(); ++t) {
      const auto& chuffs = led->rows[r].revolutions[t].chuffs;
      for (std::size_t k = 0; k < chuffs.size(); ++k) {
        const model::Chuff& before = made.project.chuffs.rows[r].revolutions[t].chuffs[k];
        CHECK((chuffs[k].beat_frame - chuffs[k].range.start).value() == 200);
        CHECK(chuffs[k].beat_frame == before.beat_frame);
        CHECK(chuffs[k].range.length() == before.range.length());
        // The quiet point stays where it is.
        CHECK(chuffs[k].range.start + chuffs[k].fade_in_frames ==
              before.range.start + before.fade_in_frames);
      }
    }
  }
  CHECK_FALSE(work::with_lead(made.project, 51.0));
  // The first beat stands 2 ms into its take: no room for more.
  made.project.chuffs.rows[0].revolutions[0].chuffs[0].beat_frame = FrameIndex(32);
  const Result<model::ChuffTable> early = work::with_lead(made.project, 3.0);
  REQUIRE_FALSE(early);
  CHECK(early.error().place == "/chuffs/rows/0");
}

TEST_CASE("chuff builder: what rows serve from rest to top speed, and what they do not", "[work]") {
  model::ChuffTable table;
  const auto row = [&](double from_kmh, double to_kmh, model::Effort effort) {
    model::ChuffRow made;
    made.from_kmh = from_kmh;
    made.to_kmh = to_kmh;
    made.effort = effort;
    made.revolutions.emplace_back();
    table.rows.push_back(made);
  };
  row(20, 30, model::Effort::hard);
  row(5, 20, model::Effort::hard);
  row(40, 90, model::Effort::hard);
  row(0, 60, model::Effort::easy);
  const std::vector<work::EffortCoverage> all = work::coverage_of(table, 60.0);
  REQUIRE(all.size() == 3);
  CHECK(all[0].covered.empty());
  CHECK(all[0].missing == std::vector<work::SpeedRange>{{0, 60}});
  CHECK(all[2].recorded == all[2].covered);
  CHECK(all[1].covered == std::vector<work::SpeedRange>{{0, 60}});
  CHECK(all[1].missing.empty());
  CHECK(all[2].covered == std::vector<work::SpeedRange>{{5, 30}, {40, 60}});
  CHECK(all[2].missing == std::vector<work::SpeedRange>{{0, 5}, {30, 40}});

  // A derived row covers what no recorded one does; rows of another condition cover nothing here.
  row(25, 45, model::Effort::hard);
  table.rows.back().derived = model::Derived{};
  row(0, 5, model::Effort::hard);
  table.rows.back().condition = model::Condition::cocks_open;
  const auto more = work::coverage_of(table, 60.0);
  CHECK(more[2].recorded == all[2].covered);
  CHECK(more[2].derived == std::vector<work::SpeedRange>{{30, 40}});
  CHECK(more[2].covered == std::vector<work::SpeedRange>{{5, 60}});
  CHECK(more[2].missing == std::vector<work::SpeedRange>{{0, 5}});
  CHECK(work::coverage_of(table, 60.0, model::Condition::cocks_open)[2].covered ==
        std::vector<work::SpeedRange>{{0, 5}});
}
