// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat_demo/demo.h"

#include "fourbeat/base/text.h"
#include "fourbeat/work/session.h"

namespace fourbeat::demo {

namespace {

Result<std::filesystem::path> make_in(const std::filesystem::path& folder, JobControl& job) {
  const std::filesystem::path file = folder / "demo.fourbeat";
  std::error_code failed;
  if (std::filesystem::exists(file, failed)) {
    return Error{
        ErrorCode::would_overwrite, path_text(file), {}, "there is a project of that name", {}};
  }
  const Result<DemoTruth> truth = write_takes(folder, job);
  if (!truth) return truth.error();
  const Result<model::Project> project = demo_project(folder, *truth, job);
  if (!project) return project.error();
  const Result<work::Session> session = work::Session::create(file, *project);
  if (!session) return session.error();
  return file;
}

}  // namespace

Result<std::filesystem::path> make_demo(const std::filesystem::path& folder, JobControl& job) {
  std::error_code failed;
  const bool made = std::filesystem::create_directories(folder, failed);
  if (failed) {
    return Error{ErrorCode::io_failed, path_text(folder), {}, failed.message(), {}};
  }
  Result<std::filesystem::path> file = make_in(folder, job);
  // remove() takes an empty folder only.
  if (!file && made) std::filesystem::remove(folder, failed);
  return file;
}

}  // namespace fourbeat::demo
