// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat_demo/demo.h"
#include "set_plan.h"
#include "takes.h"
#include "undo.h"

#include "fourbeat/base/text.h"
#include "fourbeat/work/session.h"

namespace fourbeat::demo {

namespace fs = std::filesystem;

Result<fs::path> make_demo(const fs::path& folder, JobControl& job) {
  const fs::path file = folder / "demo.fourbeat";
  std::vector<fs::path> wanted{file};
  for (const std::string_view take : take_files)
    wanted.push_back(folder / text_path(take));
  for (const PlannedCard& card : planned_cards())
    wanted.push_back(folder / text_path(card.path));
  for (const fs::path& path : wanted) {
    std::error_code error;
    if (fs::exists(fs::symlink_status(path, error))) {
      return Error{ErrorCode::would_overwrite, path_text(path), "",
                   "a file of this name is there already", "choose an empty folder for the demo"};
    }
  }
  Undo undo;
  undo.add_missing_folders(folder / "takes");
  undo.add_missing_folders(folder / "cards");
  for (const fs::path& path : wanted)
    undo.add(path);
  const Result<DemoTruth> truth = write_takes(folder, job);
  if (!truth) return truth.error();
  const Result<model::Project> project = demo_project(folder, *truth, job);
  if (!project) return project.error();
  if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
  const Result<work::Session> session = work::Session::create(file, *project);
  if (!session) return session.error();
  undo.keep_all();
  return file;
}

}  // namespace fourbeat::demo
