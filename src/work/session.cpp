// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/session.h"

#include "fourbeat/base/text.h"
#include "fourbeat/store/project_file.h"

namespace fourbeat::work {

Session::Session(std::filesystem::path path, model::Project project, std::optional<FileLock> lock)
    : path_(std::move(path)), project_(std::move(project)), lock_(std::move(lock)) {}

Result<Session> Session::open(const std::filesystem::path& path) {
  Result<model::Project> project = store::load_project(path);
  if (!project) return project.error();
  return Session(path, std::move(*project), std::nullopt);
}

Result<Session> Session::open_to_change(const std::filesystem::path& path) {
  // Looked at first, so that a wrong name leaves no lock file behind.
  if (const Result<std::int64_t> size = regular_file_size(path); !size) return size.error();
  Result<FileLock> lock = FileLock::take(path);
  if (!lock) return lock.error();
  Result<model::Project> project = store::load_project(path);
  if (!project) return project.error();
  return Session(path, std::move(*project), std::move(*lock));
}

Result<Session> Session::create(const std::filesystem::path& path, const model::Project& project) {
  std::error_code ignored;
  if (std::filesystem::exists(std::filesystem::symlink_status(path, ignored))) {
    return Error{
        ErrorCode::would_overwrite, path_text(path), {}, "there is a file of that name", {}};
  }
  Result<FileLock> lock = FileLock::take(path);
  if (!lock) return lock.error();
  Session session(path, project, std::move(*lock));
  if (const Status saved = session.save(); !saved) return saved.error();
  return session;
}

std::filesystem::path Session::folder() const {
  const std::filesystem::path parent = path_.parent_path();
  return parent.empty() ? std::filesystem::path(".") : parent;
}

Result<model::Edit> Session::perform(const std::vector<model::Edit>& edits) {
  return model::apply(project_, model::EditGroup{edits});
}

Status Session::save() {
  if (!lock_) {
    return Error{
        ErrorCode::bad_argument, path_text(path_), {}, "the project was opened to read", {}};
  }
  return store::save_project(path_, project_);
}

}  // namespace fourbeat::work
