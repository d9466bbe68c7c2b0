// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/project.h"
#include "fourbeat/work/chuff_plan.h"
#include "fourbeat/work/chuff_quality.h"
#include "fourbeat/work/tracked_take.h"

#include <filesystem>
#include <optional>
#include <vector>

namespace fourbeat::work {

/// What the builder did.
struct ChuffBuild {
  std::vector<model::Edit> edits;  ///< set the table, and the engine's angles where it has none
  model::ChuffTable table;         ///< as the edits set it; row ids not drawn yet
  std::vector<RowCandidates> candidates;    ///< one entry a recorded row, in the table's order
  std::vector<double> measured_angles_deg;  ///< empty when under 8 whole revolutions were found
  model::EffortCalibration effort;          ///< by which refresh_chuffs() judged the beats
  int beats = 0;
  int revolutions = 0;  ///< whole ones
};

/// Builds the chuff table from the beats of takes, as they sound (docs/chuffs.md). Revolutions are
/// runs of beats_per_rev beats; all takes count them from the same place of the wheel, which their
/// accents and timing tell. Each is given the speed of its take's curve and the effort that most of
/// its beats have. Takes that are no chuff source are left out. Rows are bands of equal ratio down
/// from the top speed; each takes its best revolutions by RevolutionQuality and serves the speeds
/// recorded; rows for the others are derived from it, and above the speed where beats stand apart a
/// recorded loop takes over. A chuff begins lead_ms before its beat, fades in up to the quiet point
/// before the attack and ends at the next one, or earlier where the profile bars overlap. Levels
/// follow a smooth trend over speed; accents inside a revolution stay. Errors: not_found (take,
/// pass), too_short (no whole revolution), bad_argument (plan), cancelled, those of Renderer.
[[nodiscard]] Result<ChuffBuild> build_chuffs(const model::Project& project,
                                              const std::filesystem::path& project_folder,
                                              const std::vector<TrackedTake>& takes,
                                              const model::DecoderProfile* profile,
                                              const ChuffPlan& plan, JobControl& job);

/// Tracks (track_take()) the takes that the table already uses and `added`, judges their efforts
/// together (judge_takes()), and builds the table from all of them. Errors: as above, those of
/// reading and tracking.
[[nodiscard]] Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                                const std::filesystem::path& project_folder,
                                                const std::vector<Id<model::Take>>& added,
                                                const model::DecoderProfile* profile,
                                                JobControl& job, const ChuffPlan& plan = {});

/// As above, for the decoder profile the project names, if any. Errors: as above, not_found (no
/// such profile).
[[nodiscard]] Result<ChuffBuild> refresh_chuffs(const model::Project& project,
                                                const std::filesystem::path& project_folder,
                                                const std::vector<Id<model::Take>>& added,
                                                JobControl& job, const ChuffPlan& plan = {});

/// The edit that plays a candidate in the place of one of a row's revolutions; at its count of
/// revolutions: beside them. Errors: not_found (row), bad_argument (revolution).
[[nodiscard]] Result<model::Edit> use_candidate(const model::Project& project,
                                                Id<model::ChuffRow> row, std::size_t revolution,
                                                const RevolutionCandidate& candidate);

/// What the recorded rows of a table could play of all that a build found, whatever has become of
/// its rows since: for the row of the same speeds, effort and condition its candidates, for any
/// other those of its effort and condition at its speeds. Rows that could play none are left out.
[[nodiscard]] std::vector<RowCandidates> candidates_for(const model::ChuffTable& table,
                                                        const ChuffBuild& build);

/// The takes that the table's chuffs and loops are cut from, each once, by id; of the rows of one
/// condition, or of all.
[[nodiscard]] std::vector<Id<model::Take>> takes_of_table(
    const model::ChuffTable& table, std::optional<model::Condition> condition = std::nullopt);

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
/// The speeds from rest to top speed that the rows of one effort serve, and those they do not. All
/// lists ascend; ranges that touch are joined.
struct EffortCoverage {
  model::Effort effort = model::Effort::easy;
  std::vector<SpeedRange> recorded;  ///< by rows that are recorded
  std::vector<SpeedRange> derived;   ///< by derived rows, and by no recorded one
  std::vector<SpeedRange> covered;   ///< by either
  std::vector<SpeedRange> missing;   ///< by none
};
/// One entry an effort, in the order of model::Effort, of the rows of one condition.
[[nodiscard]] std::vector<EffortCoverage> coverage_of(
    const model::ChuffTable& table, double top_speed_kmh,
    model::Condition condition = model::Condition::normal);

}  // namespace fourbeat::work
