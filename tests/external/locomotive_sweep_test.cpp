// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/catch.h"
#include "support/recordings.h"
#include "support/swept_table.h"
#include "work/one_take_project.h"

#include "fourbeat/model/edit.h"
#include "fourbeat/work/chuff_builder.h"

#include <algorithm>

using namespace fourbeat;
using namespace fourbeat::tests;

TEST_CASE("locomotive recording: its table swept has every beat on the closed form's frame",
          "[external]") {
  const auto path = recording("steamLocomotive.ogg");
  if (!path) return;
  const std::filesystem::path folder = path->parent_path();
  JobControl job;
  model::Project project = project_of_take(*path);
  // Nobody wrote the engine down: plain guesses.
  project.engine.driver_diameter_mm = 1400.0;
  project.engine.beats_per_rev = 4;
  project.engine.top_speed_kmh = 40.0;
  const auto built = work::refresh_chuffs(project, folder, {project.takes.front().id}, job);
  REQUIRE(built);
  for (const model::Edit& edit : built->edits)
    REQUIRE(model::apply(project, edit));
  REQUIRE(project.engine.beat_angles_deg.size() == 4);
  REQUIRE(project.chuffs.rows.size() >= 3);
  check_swept(sweep_against_closed_form(project, folder));
}
