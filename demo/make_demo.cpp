// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat_demo/demo.h"
#include "set_plan.h"
#include "takes.h"
#include "undo.h"

#include "fourbeat/base/text.h"
#include "fourbeat/work/analyse.h"
#include "fourbeat/work/chuff_builder.h"
#include "fourbeat/work/loop_kinds.h"
#include "fourbeat/work/produce.h"
#include "fourbeat/work/segments.h"
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

Status finish_demo(const std::filesystem::path& project, JobControl& job) {
  Result<work::Session> session = work::Session::open_to_change(project);
  if (!session) return session.error();
  const model::Project& set = session->project();
  const Result<model::DecoderProfile> profile = work::profile_of(set, "");
  if (!profile) return profile.error();
  // The engine runs in the first three takes.
  std::vector<Id<model::Take>> running;
  for (std::size_t i = 0; i < set.takes.size() && running.size() < 3; ++i)
    running.push_back(set.takes[i].id);
  Result<work::ChuffBuild> chuffs =
      work::refresh_chuffs(set, session->folder(), running, &*profile, job);
  if (!chuffs) return chuffs.error();
  std::vector<model::Edit> edits = std::move(chuffs->edits);
  for (const Id<model::Segment> id : work::holds_without_loop(set)) {
    const Result<dsp::LoopSearch> found =
        work::find_segment_loops(set, session->folder(), id, work::loop_params(set, id), job);
    if (!found) return found.error();
    if (found->candidates.empty()) continue;
    edits.emplace_back(model::SetLoop{
        id, work::loop_in_segment(found->candidates.front().loop, *model::find(set, id))});
  }
  if (const Result<model::Edit> done = session->perform(edits); !done) return done.error();
  return session->save();
}

}  // namespace fourbeat::demo
