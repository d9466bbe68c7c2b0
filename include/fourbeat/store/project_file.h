// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/files.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/edit.h"
#include "fourbeat/model/project.h"

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace fourbeat::store {

inline constexpr std::int64_t project_limit_bytes = std::int64_t{64} << 20U;
inline constexpr int project_limit_depth = 64;
inline constexpr int project_version = 1;

/// The project as the text of its file: UTF-8 JSON, two-space indent, stable key order, one array
/// element a line where short, unknown members kept. The same project gives the same bytes.
[[nodiscard]] std::string project_text(const model::Project& project);

/// Reads such a text. `file` names it in errors. Every number is range-checked; nothing is clamped.
/// Errors: bad_input (place: a JSON pointer, or line and column), too_large, too_deep,
/// newer_version, not_finite.
[[nodiscard]] Result<model::Project> parse_project(std::string_view text, const std::string& file);

/// parse_project() of a regular file.
[[nodiscard]] Result<model::Project> load_project(const std::filesystem::path& path);

/// Writes a project atomically and keeps the last good copy. The caller holds the lock
/// (FileLock::take(path)) from load to save.
[[nodiscard]] Status save_project(const std::filesystem::path& path, const model::Project& project);

/// Reads edits from JSON: an array of objects, each with "edit" naming it (snake_case of the
/// struct: "set_title", "trim_segment", "set_loop", "set_cv", "add_take", "remove_key",
/// "replace_sound", "group" …) and its members by their own names; entities as in the project
/// file, where an "id" left out is drawn. Same limits as a project.
[[nodiscard]] Result<std::vector<model::Edit>> parse_edits(std::string_view text,
                                                           const std::string& file);

/// The value at an RFC 6901 JSON Pointer of the project's file text, as JSON; "" is the whole.
/// Errors: not_found.
[[nodiscard]] Result<std::string> show(const model::Project& project, const std::string& pointer);

/// The JSON Pointer of an entity in the project's file: "/segments/3".
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Take> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Pass> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Segment> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Sound> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::ChuffRow> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Key> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::OwnState> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Trigger> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Layer> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Option> id);
[[nodiscard]] std::string pointer_of(const model::Project& project, Id<model::Cv> id);

}  // namespace fourbeat::store
