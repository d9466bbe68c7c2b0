// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/project.h"
#include "fourbeat/work/tracked_take.h"

#include <filesystem>
#include <vector>

namespace fourbeat::work {

/// What the builder did.
struct ChuffBuild {
  std::vector<model::Edit> edits;  ///< set the table, and the engine's angles where it has none
  model::ChuffTable table;         ///< as the edits set it; row ids not drawn yet
  std::vector<double> measured_angles_deg;  ///< empty when under 8 whole revolutions were found
  int beats = 0;
  int revolutions = 0;  ///< whole ones
};

/// Builds the chuff table from the beats of takes. Revolutions are runs of beats_per_rev beats from
/// position 0; each is given the speed of its take's curve and the effort that most of its beats
/// have. Takes that are no chuff source are left out. Bands are of equal ratio over the speeds
/// recorded at an effort; the lowest reaches down to rest and the highest up to top speed. A row
/// takes the two revolutions (or the one there is) that are surest, most even and nearest its
/// middle. A chuff begins lead_ms before its beat and ends where the next begins, or earlier where
/// the profile bars overlap. Errors: not_found (take, pass), too_short (no whole revolution).
[[nodiscard]] Result<ChuffBuild> build_chuffs(const model::Project& project,
                                              const std::vector<TrackedTake>& takes,
                                              const model::DecoderProfile* profile);

/// Tracks (track_take()) the takes that the table already uses and `added`, judges their efforts
/// together (judge_takes()), and builds the table from all of them. Errors: as above, those of
/// reading and tracking.
[[nodiscard]] Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                                const std::filesystem::path& project_folder,
                                                const std::vector<Id<model::Take>>& added,
                                                const model::DecoderProfile* profile,
                                                JobControl& job);

/// As above, for the decoder profile the project names, if any. Errors: as above, not_found (no
/// such profile).
[[nodiscard]] Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                                const std::filesystem::path& project_folder,
                                                const std::vector<Id<model::Take>>& added,
                                                JobControl& job);

/// The takes the table's chuffs are cut from, each once, by id.
[[nodiscard]] std::vector<Id<model::Take>> takes_of_table(const model::ChuffTable& table);

/// The project's table with another lead: every chuff keeps its beat and its length, and begins
/// lead_ms before its beat. Errors: bad_argument (outside 0 to 50 ms; a chuff would begin before
/// its take does: place names the row).
[[nodiscard]] Result<model::ChuffTable> with_lead(const model::Project& project, double lead_ms);

/// From (inclusive) to (exclusive), in km/h.
struct SpeedRange {
  double from_kmh = 0.0;
  double to_kmh = 0.0;
  bool operator==(const SpeedRange&) const = default;
};
/// The speeds from rest to top speed that the rows of one effort serve, and those they do not.
struct EffortCoverage {
  model::Effort effort = model::Effort::easy;
  std::vector<SpeedRange> covered;  ///< ascending, joined where they touch
  std::vector<SpeedRange> missing;  ///< ascending
};
/// One entry an effort, in the order of model::Effort.
[[nodiscard]] std::vector<EffortCoverage> coverage_of(const model::ChuffTable& table,
                                                      double top_speed_kmh);

}  // namespace fourbeat::work
