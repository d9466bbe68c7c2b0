// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/files.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <optional>
#include <vector>

namespace fourbeat::work {

/// A project opened from its file. A writable one holds the lock until it goes.
class Session {
 public:
  /// Opens a project to read. Errors: those of store::load_project.
  [[nodiscard]] static Result<Session> open(const std::filesystem::path& path);
  /// Opens it to change. Errors: as above, locked.
  [[nodiscard]] static Result<Session> open_to_change(const std::filesystem::path& path);
  /// A new project file. Errors: would_overwrite when the file exists, locked, io_failed.
  [[nodiscard]] static Result<Session> create(const std::filesystem::path& path,
                                              const model::Project& project);

  [[nodiscard]] const model::Project& project() const { return project_; }
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  /// The folder that take paths are relative to.
  [[nodiscard]] std::filesystem::path folder() const;

  /// Performs edits, all or nothing, in memory. Returns the edit that undoes them.
  [[nodiscard]] Result<model::Edit> perform(const std::vector<model::Edit>& edits);
  /// Saves atomically. Errors: those of store::save_project; bad_argument when opened to read.
  [[nodiscard]] Status save();
  /// Saves as another file and goes on with it: takes and run cards are then found from the new
  /// folder; the old file and its lock are let go. A file that is there is replaced. On error
  /// nothing changed. Errors: as save(), locked.
  [[nodiscard]] Status save_as(const std::filesystem::path& path);
  /// Puts a whole other project in the place of this one, in memory (work recovered from a
  /// journal). Errors: those of model::validate.
  [[nodiscard]] Status put(model::Project project);

 private:
  Session(std::filesystem::path path, model::Project project, std::optional<FileLock> lock);
  std::filesystem::path path_;
  model::Project project_;
  std::optional<FileLock> lock_;
};

}  // namespace fourbeat::work
