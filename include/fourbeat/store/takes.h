// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <string>
#include <vector>

namespace fourbeat::store {

enum class TakeState {
  present,     ///< there, size (and hash, where it was asked for) as recorded
  missing,     ///< no such file
  changed,     ///< another size, hash or audio facts
  unreadable,  ///< there, but not a readable sound file
  outside      ///< its path leaves the project's folder, and that was not allowed
};

struct TakeStatus {
  Id<model::Take> take;
  TakeState state = TakeState::missing;
  std::filesystem::path path;  ///< where it was looked for
  std::string detail;          ///< one line, for the snag
};

/// Where a take's file is. Errors: bad_input when the path is absolute or leaves the project's
/// folder by "..", unless allow_outside, or the user trusts the folder it leads to (trust.h).
[[nodiscard]] Result<std::filesystem::path> take_path(const std::filesystem::path& project_folder,
                                                      const model::Take& take,
                                                      bool allow_outside = false);

/// The state of every take, in order. verify_hashes reads the files whole; otherwise size and
/// header are compared. Errors: cancelled.
[[nodiscard]] Result<std::vector<TakeStatus>> look_at_takes(
    const model::Project& project, const std::filesystem::path& project_folder, bool verify_hashes,
    JobControl& job);

/// A Take value for a file, hashed; id unset. Its path is relative to the project's folder, '..'
/// where it lies outside. Errors: as SoundFileReader::open.
[[nodiscard]] Result<model::Take> describe_take(const std::filesystem::path& file,
                                                const std::filesystem::path& project_folder,
                                                JobControl& job);

/// Looks through `folder` (and below, at most 10 000 files, no links followed) for the files of
/// missing or changed takes, by name and size first, then by hash, and gives the edits that
/// relink them. Errors: not_found (folder), too_large (more files), cancelled.
[[nodiscard]] Result<std::vector<model::Edit>> relink(const model::Project& project,
                                                      const std::filesystem::path& project_folder,
                                                      const std::filesystem::path& folder,
                                                      JobControl& job);

/// Refuses an output path that is one of the project's takes (would_overwrite).
[[nodiscard]] Status refuse_takes_as_output(const model::Project& project,
                                            const std::filesystem::path& project_folder,
                                            const std::filesystem::path& output);

}  // namespace fourbeat::store
