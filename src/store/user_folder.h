// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>

namespace fourbeat::store {

/// A folder of the user's own after the XDG Base Directory Specification: $own, else
/// $xdg/fourbeat, else $HOME/`below_home`/fourbeat, else one in the system's temporary folder.
[[nodiscard]] std::filesystem::path user_folder(const char* own, const char* xdg,
                                                const char* below_home);

/// An absolute path without links or dots, as far as it exists.
[[nodiscard]] std::filesystem::path settled_path(const std::filesystem::path& path);

}  // namespace fourbeat::store
