// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/drive/drive.h"
#include "fourbeat/model/decoder_profile.h"
#include "fourbeat/model/project.h"
#include "fourbeat/model/run_card.h"

#include <filesystem>
#include <string>
#include <vector>

namespace fourbeat::work {

/// A set driven by a card.
struct TrialRun {
  model::RunCard card;
  model::DecoderProfile profile;
  drive::DriveOutput output;
};

/// Fits a set to its decoder and drives it by a card, as `drive` does.
/// Errors: those of fit_project and drive_fitted.
[[nodiscard]] Result<TrialRun> trial_run(const model::Project& project,
                                         const std::filesystem::path& project_folder,
                                         const model::RunCard& card, bool stems, JobControl& job);

/// A run card of the project, by its path there. Errors: as store::take_path and load_run_card.
[[nodiscard]] Result<model::RunCard> load_listed_card(const std::filesystem::path& project_folder,
                                                      const std::string& card_path);
/// The path by which a project lists a card's file: relative to its folder. The file is read first.
/// Errors: those of load_run_card; bad_input where its path is no UTF-8.
[[nodiscard]] Result<std::string> listed_card_path(const std::filesystem::path& project_folder,
                                                   const std::filesystem::path& file);

/// The text of a run card to start from: away from rest with a press of the set's first key, a
/// while at half speed, and back to rest, as long as the set's momentum needs.
[[nodiscard]] std::string card_template(const model::Project& project);

/// The drive log as JSON: rates, peaks, and every event (docs/drive.md).
[[nodiscard]] std::string drive_log(const drive::DriveOutput& output);

/// Writes the mix as WAV (24 bit) and the log beside it; an empty path is left out. Outputs may not
/// be takes. Errors: would_overwrite, cancelled, those of writing.
[[nodiscard]] Status write_drive(const model::Project& project,
                                 const std::filesystem::path& project_folder,
                                 const drive::DriveOutput& output, const std::filesystem::path& wav,
                                 const std::filesystem::path& log, JobControl& job);

}  // namespace fourbeat::work
