// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <system_error>
#include <utility>
#include <vector>

namespace fourbeat::demo {

/// Removes, when it goes, the files and empty folders it was given, the last one first.
class Undo {
 public:
  Undo() = default;
  Undo(const Undo&) = delete;
  Undo& operator=(const Undo&) = delete;
  ~Undo() {
    for (auto path = paths_.rbegin(); path != paths_.rend(); ++path) {
      std::error_code ignored;
      std::filesystem::remove(*path, ignored);
    }
  }
  void add(std::filesystem::path path) { paths_.push_back(std::move(path)); }
  /// Adds those of a folder and the folders above it that are not there, the highest first.
  void add_missing_folders(const std::filesystem::path& folder) {
    std::vector<std::filesystem::path> missing;
    std::error_code failed;
    for (std::filesystem::path level = folder; !level.empty(); level = level.parent_path()) {
      if (std::filesystem::exists(level, failed) || failed) break;
      missing.push_back(level);
    }
    paths_.insert(paths_.end(), missing.rbegin(), missing.rend());
  }
  void keep_all() { paths_.clear(); }

 private:
  std::vector<std::filesystem::path> paths_;
};

}  // namespace fourbeat::demo
