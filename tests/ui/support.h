// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Document.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include <QString>
#include <functional>
#include <memory>

namespace fourbeat::tests {

/// A small but whole project on disk: three takes (a running engine of four channels, a whistle, a
/// steady hiss), their passes with rights, segments, a one-shot and a held sound with a loop, two
/// chuff rows, keys, CVs, a run card, decoder class-b. Takes a moment to write; share one where a
/// test changes nothing on disk.
class SmallProject {
 public:
  SmallProject();
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  [[nodiscard]] std::filesystem::path folder() const { return path_.parent_path(); }
  [[nodiscard]] std::unique_ptr<ui::Document> open() const;
  /// The ids the tests ask for, by order of the project's lists.
  [[nodiscard]] const model::Project& project() const { return project_; }

 private:
  TempFolder folder_;
  std::filesystem::path path_;
  model::Project project_;
};

/// What of a project an undo brings back, as text: all but the counter of ids, which only grows.
[[nodiscard]] std::string undoableText(model::Project project);

/// Runs the event loop until `reached` holds; false after `ms`.
bool waitUntil(const std::function<bool()>& reached, int ms = 20000);

/// A random edit that the project accepts: trims, gains, keys, CVs, marks, titles, adds and
/// removes. Deterministic in `seed`.
[[nodiscard]] model::Edit randomEdit(const model::Project& project, quint64 seed);

}  // namespace fourbeat::tests
