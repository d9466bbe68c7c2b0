// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "written_demo.h"

#include "fourbeat/audio/loudness.h"
#include "fourbeat/dsp/chuff_measure.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/chuff_builder.h"
#include "fourbeat/work/produce.h"

#include <algorithm>
#include <cmath>
#include <span>

using namespace fourbeat;

namespace {

/// Mean energy of a row's chuffs as they are played: K-weighted, and in third octaves.
struct RowSound {
  double energy_db = 0.0;
  std::vector<double> bands_db;
};

RowSound sound_of(const model::Project& project, const std::filesystem::path& folder,
                  const model::ChuffTable& table, double speed_kmh) {
  model::Project set = project;
  set.sounds.clear();
  REQUIRE(model::apply(set, model::SetChuffTable{table}));
  const auto row =
      std::find_if(set.chuffs.rows.begin(), set.chuffs.rows.end(), [&](const model::ChuffRow& one) {
        return one.effort == model::Effort::hard && one.from_kmh <= speed_kmh &&
               speed_kmh < one.to_kmh;
      });
  REQUIRE(row != set.chuffs.rows.end());
  JobControl job;
  const auto rendered = work::render_set(set, folder, job);
  REQUIRE(rendered);
  RowSound sound;
  std::vector<double> energies;
  double k_energy = 0.0;
  int count = 0;
  for (std::size_t i = 0; i < rendered->pieces.size(); ++i) {
    if (rendered->pieces[i].key.row != row->id) continue;
    const audio::Clip& clip = rendered->clips[i];
    const auto energy_db = audio::k_weighted_energy_db(clip.samples, clip.sample_rate_hz);
    REQUIRE(energy_db);
    k_energy += std::pow(10.0, *energy_db / 10.0);
    const auto bands = dsp::third_octave_energies_db(clip.samples, clip.sample_rate_hz);
    energies.resize(bands.size(), 0.0);
    for (std::size_t band = 0; band < bands.size(); ++band)
      energies[band] += std::pow(10.0, static_cast<double>(bands[band]) / 10.0);
    ++count;
  }
  REQUIRE(count >= 8);
  sound.energy_db = 10.0 * std::log10(k_energy / count);
  for (const double energy : energies)
    sound.bands_db.push_back(10.0 * std::log10(energy / count));
  return sound;
}

}  // namespace

TEST_CASE("demo: a row held out and derived from its neighbours sounds as the recorded one",
          "[demo][deep]") {
  JobControl job;
  const std::filesystem::path folder = demo::written().folder.path();
  const demo::DemoTruth& truth = demo::written().truth;
  model::Project project = demo::written().project;
  const model::Take& take = project.takes[0];  // pulling away, hard, 5 to 36 km/h
  auto tracked = work::track_take(project, folder, take.id, job);
  REQUIRE(tracked);
  work::judge_takes(project, std::span(&*tracked, 1));
  const auto build = [&] {
    auto built = work::build_chuffs(project, folder, {*tracked}, nullptr, work::ChuffPlan{}, job);
    REQUIRE(built);
    return built->table;
  };
  const model::ChuffTable whole = build();
  int compared = 0;
  for (const model::ChuffRow& row : whole.rows) {
    if (row.derived || row.from_kmh < 10.0 || row.to_kmh > 26.0) continue;
    const double middle_kmh = std::sqrt(row.from_kmh * row.to_kmh);
    // What was recorded in the row's band does not count.
    model::Mark mark;
    mark.take = take.id;
    mark.kind = model::MarkKind::unusable;
    mark.range = {FrameIndex(-1), FrameIndex(-1)};
    for (const demo::TruthBeat& beat : truth.takes[0].beats) {
      if (beat.speed_kmh < 0.97 * row.from_kmh || beat.speed_kmh > 1.03 * row.to_kmh) continue;
      if (mark.range.start < FrameIndex(0)) mark.range.start = beat.frame;
      mark.range.end = beat.frame;
    }
    project.marks.push_back(mark);
    const model::ChuffTable held_out = build();
    project.marks.pop_back();
    const auto made =
        std::find_if(held_out.rows.begin(), held_out.rows.end(), [&](const model::ChuffRow& one) {
          return one.from_kmh <= middle_kmh && middle_kmh < one.to_kmh;
        });
    REQUIRE(made != held_out.rows.end());
    REQUIRE(made->derived.has_value());
    const RowSound recorded = sound_of(project, folder, whole, middle_kmh);
    const RowSound derived = sound_of(project, folder, held_out, middle_kmh);
    INFO("row at " << middle_kmh << " km/h, derived from " << made->derived->recorded_kmh
                   << ", tilt " << made->derived->tilt_db_per_octave);
    CHECK(derived.energy_db == Approx(recorded.energy_db).margin(1.0));
    double worst_db = 0.0;
    for (std::size_t band = 0; band < recorded.bands_db.size(); ++band) {
      worst_db = std::max(worst_db, std::fabs(derived.bands_db[band] - recorded.bands_db[band]));
    }
    CHECK(worst_db < 3.0);
    ++compared;
  }
  CHECK(compared >= 2);
}
