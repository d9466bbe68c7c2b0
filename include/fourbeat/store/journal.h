// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/files.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <string>
#include <vector>

/// Work that was not saved, kept apart from the project's file: what an editor writes after each
/// change and offers back after it died. One file a project, in a folder of the user's own.

namespace fourbeat::store {

/// Unsaved work of one project.
struct Journal {
  std::filesystem::path project_path;  ///< absolute
  model::Project project;              ///< as it was after the last change written
};

/// Where journals are kept: $FOURBEAT_STATE, else $XDG_STATE_HOME/fourbeat, else
/// ~/.local/state/fourbeat, else a folder of the system's temporary one; "/journal" below it.
[[nodiscard]] std::filesystem::path journal_folder();

/// The journal file of a project; the same for every spelling of its path.
[[nodiscard]] std::filesystem::path journal_path(const std::filesystem::path& project_path);

/// Writes the journal of a project atomically, making the folder where there is none. The
/// project's own file is not touched. Errors: those of write_file_atomically.
[[nodiscard]] Status write_journal(const std::filesystem::path& project_path,
                                   const model::Project& project,
                                   Outlives outlives = Outlives::machine);

/// Removes it; none there is no error. Errors: io_failed.
[[nodiscard]] Status remove_journal(const std::filesystem::path& project_path);

/// Reads one journal file. Errors: as load_project, bad_input (not a journal).
[[nodiscard]] Result<Journal> read_journal(const std::filesystem::path& journal_file);

/// One journal file as found in the folder.
struct JournalFile {
  std::filesystem::path file;
  std::filesystem::path project_path;  ///< "" where the file cannot be read
  std::string title;
};
/// The journals there are, by file name. None of them need be left over: the project of one may be
/// open in another program (its lock tells).
[[nodiscard]] std::vector<JournalFile> list_journals();

/// Puts a journal that cannot be read, or is not wanted now, aside: renamed to "<name>.aside", or
/// "<name>.2.aside" and so on where one is aside already. Returns its new path. Errors: io_failed.
[[nodiscard]] Result<std::filesystem::path> set_journal_aside(
    const std::filesystem::path& journal_file);

/// The journals that were set aside, by file name.
[[nodiscard]] std::vector<JournalFile> list_journals_aside();

/// Makes one that was set aside the journal of its project again; returns the project's path.
/// Errors: as read_journal, bad_argument (the project has a journal), io_failed.
[[nodiscard]] Result<std::filesystem::path> take_journal_back(
    const std::filesystem::path& aside_file);

}  // namespace fourbeat::store
