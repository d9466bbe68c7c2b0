// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <map>
#include <string>
#include <vector>

namespace fourbeat::work {

/// Files looked at before they become takes.
struct DescribedTakes {
  std::vector<model::Take> takes;              ///< ids unset, in the order of the files
  std::vector<std::filesystem::path> already;  ///< files that are takes of the project
  std::vector<Error> refused;                  ///< files that cannot be takes, one error each
};

/// The recordings that paths name: files as they are, and of folders every file below whose name
/// ends as a sound file's does, in order of path. No links are followed; at most 10 000 files are
/// looked at. Errors: not_found, too_large (more files), cancelled.
[[nodiscard]] Result<std::vector<std::filesystem::path>> recordings_below(
    const std::vector<std::filesystem::path>& paths, JobControl& job);

/// Looks at files and hashes them. microphones: positions by channel, from 1; a file without such a
/// channel is refused. One bad file does not keep the others out. Errors: cancelled.
[[nodiscard]] Result<DescribedTakes> describe_takes(const model::Project& project,
                                                    const std::filesystem::path& project_folder,
                                                    const std::vector<std::filesystem::path>& files,
                                                    const std::map<int, std::string>& microphones,
                                                    JobControl& job);

/// Takes with the edits that bring them in.
struct AddedTakes {
  std::vector<model::Take> takes;  ///< with the ids they get
  std::vector<model::Edit> edits;
};

/// Brings described takes into `project` as it is now: into the pass of that name (made where
/// there is none) or, with "", each into a pass of its own, named after the file. Those that are
/// there already are left out. A take outside the project's folder is one the user named: its
/// folder is put on the list of trusted folders. Errors: those of store::trust_folder.
[[nodiscard]] Result<AddedTakes> edits_to_add(const model::Project& project,
                                              const std::filesystem::path& project_folder,
                                              const std::vector<model::Take>& takes,
                                              const std::string& pass_name);

/// Takes a take out of the project: with its marks, and with its pass where that holds no other.
/// The edits are refused (in_use) while a segment or chuff is cut from it.
[[nodiscard]] std::vector<model::Edit> edits_to_remove_take(const model::Project& project,
                                                            Id<model::Take> take);

}  // namespace fourbeat::work
