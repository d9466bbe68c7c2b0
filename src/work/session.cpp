// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/session.h"

#include "fourbeat/base/text.h"
#include "fourbeat/model/validate.h"
#include "fourbeat/store/project_file.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/store/trust.h"

#include <algorithm>

namespace fourbeat::work {

namespace {

/// A path of the project seen from another folder.
void move_path(std::string& path, const std::filesystem::path& from,
               const std::filesystem::path& to) {
  std::error_code failed;
  const std::filesystem::path whole =
      std::filesystem::weakly_canonical(from / text_path(path), failed);
  if (failed) return;
  const std::filesystem::path relative = whole.lexically_relative(to);
  if (!relative.empty()) path = path_text(relative);
}

std::filesystem::path folder_of(const std::filesystem::path& path) {
  const std::filesystem::path parent = path.parent_path();
  return parent.empty() ? std::filesystem::path(".") : parent;
}

}  // namespace

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
  if (Status saved = session.save(); !saved) return saved.error();
  return session;
}

std::filesystem::path Session::folder() const {
  return folder_of(path_);
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

Status Session::save_as(const std::filesystem::path& path) {
  if (same_file(path, path_)) return save();
  Result<FileLock> lock = FileLock::take(path);
  if (!lock) return lock.error();
  model::Project moved = project_;
  std::error_code failed;
  const std::filesystem::path to = std::filesystem::weakly_canonical(folder_of(path), failed);
  if (failed) return Error{ErrorCode::not_found, path_text(path), {}, failed.message(), {}};
  for (model::Take& take : moved.takes)
    move_path(take.path, folder(), to);
  for (std::string& card : moved.run_cards)
    move_path(card, folder(), to);
  if (Status saved = store::save_project(path, moved); !saved) return saved;
  // Takes that the old project's folder held are the user's own.
  for (const model::Take& take : project_.takes) {
    if (const auto file = store::take_path(folder(), take); file) {
      if (Status trusted = store::trust_folder(file->parent_path()); !trusted) return trusted;
    }
  }
  path_ = path;
  project_ = std::move(moved);
  lock_.emplace(std::move(*lock));
  return ok();
}

Status Session::put(model::Project project) {
  if (Status valid = model::validate(project); !valid) return valid;
  project.next_id = std::max(project.next_id, project_.next_id);
  project_ = std::move(project);
  return ok();
}

}  // namespace fourbeat::work
