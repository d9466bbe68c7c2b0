// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <filesystem>
#include <vector>

/// Folders outside a project's own that its takes may lie in, because the user said so: by adding
/// a take from there, or by answering yes when a project that came from elsewhere asked. One list
/// a user, not part of any project.

namespace fourbeat::store {

/// Where the list is kept: $FOURBEAT_CONFIG, else $XDG_CONFIG_HOME/fourbeat, else
/// ~/.config/fourbeat; the file "trusted-folders" in it, one absolute path a line.
[[nodiscard]] std::filesystem::path trust_file();

/// The folders of the list; none where there is no list.
[[nodiscard]] std::vector<std::filesystem::path> trusted_folders();

/// Puts a folder on the list (once). Errors: those of write_file_atomically.
[[nodiscard]] Status trust_folder(const std::filesystem::path& folder);

/// Whether a file lies in a folder of the list or below one.
[[nodiscard]] bool is_trusted(const std::filesystem::path& file);

}  // namespace fourbeat::store
