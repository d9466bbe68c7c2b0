// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/add_takes.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/takes.h"
#include "fourbeat/store/trust.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <system_error>

namespace fourbeat::work {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t most_files = 10'000;

/// What the names of sound files end with.
constexpr std::array<std::string_view, 11> endings{
    ".wav", ".bwf", ".rf64", ".w64", ".flac", ".aif", ".aiff", ".aifc", ".caf", ".ogg", ".oga"};

bool is_named_as_sound(const fs::path& file) {
  std::string ending = path_text(file.extension());
  std::transform(ending.begin(), ending.end(), ending.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return std::find(endings.begin(), endings.end(), ending) != endings.end();
}

/// One file's share of a job.
class ShareOfJob final : public JobControl {
 public:
  ShareOfJob(JobControl& whole, std::size_t at, std::size_t of)
      : whole_(whole), at_(static_cast<double>(at)), of_(static_cast<double>(of)) {}
  [[nodiscard]] bool cancelled() const override { return whole_.cancelled(); }
  void progress(double fraction, std::string_view stage) override {
    whole_.progress((at_ + fraction) / of_, stage);
  }

 private:
  JobControl& whole_;
  double at_;
  double of_;
};

Error cancelled() {
  return {ErrorCode::cancelled, {}, {}, {}, {}};
}

}  // namespace

Result<std::vector<fs::path>> recordings_below(const std::vector<fs::path>& paths,
                                               JobControl& job) {
  std::vector<fs::path> files;
  std::size_t seen = 0;
  for (const fs::path& path : paths) {
    std::error_code failed;
    const fs::file_status status = fs::status(path, failed);
    if (!fs::exists(status)) return Error{ErrorCode::not_found, path_text(path), {}, {}, {}};
    if (!fs::is_directory(status)) {
      files.push_back(path);
      continue;
    }
    std::vector<fs::path> below;
    fs::recursive_directory_iterator at(path, fs::directory_options::skip_permission_denied,
                                        failed);
    if (failed) return Error{ErrorCode::io_failed, path_text(path), {}, failed.message(), {}};
    for (; at != fs::recursive_directory_iterator(); at.increment(failed)) {
      if (job.cancelled()) return cancelled();
      if (++seen > most_files) {
        return Error{ErrorCode::too_large,
                     path_text(path),
                     {},
                     fmt::format("more than {} files", most_files),
                     "name a folder nearer to the recordings"};
      }
      std::error_code unknown;
      if (at->is_symlink(unknown) || !at->is_regular_file(unknown)) continue;
      if (is_named_as_sound(at->path())) below.push_back(at->path());
    }
    if (failed) return Error{ErrorCode::io_failed, path_text(path), {}, failed.message(), {}};
    std::sort(below.begin(), below.end());
    files.insert(files.end(), below.begin(), below.end());
  }
  return files;
}

Result<DescribedTakes> describe_takes(const model::Project& project, const fs::path& project_folder,
                                      const std::vector<fs::path>& files,
                                      const std::map<int, std::string>& microphones,
                                      JobControl& job) {
  std::vector<fs::path> known;
  for (const model::Take& take : project.takes) {
    if (const Result<fs::path> path = store::take_path(project_folder, take, true)) {
      known.push_back(*path);
    }
  }
  DescribedTakes described;
  for (std::size_t i = 0; i < files.size(); ++i) {
    if (job.cancelled()) return cancelled();
    const fs::path& file = files[i];
    const auto is_file = [&file](const fs::path& other) { return same_file(file, other); };
    if (std::any_of(known.begin(), known.end(), is_file)) {
      described.already.push_back(file);
      continue;
    }
    ShareOfJob share(job, i, files.size());
    Result<model::Take> take = store::describe_take(file, project_folder, share);
    if (!take) {
      if (take.error().code == ErrorCode::cancelled) return take.error();
      described.refused.push_back(take.error());
      continue;
    }
    if (!microphones.empty() && microphones.rbegin()->first > take->channels) {
      described.refused.push_back(
          Error{ErrorCode::bad_argument,
                path_text(file),
                "--mic",
                fmt::format("channel {} of {}", microphones.rbegin()->first, take->channels),
                {}});
      continue;
    }
    if (!microphones.empty()) take->microphones.resize(static_cast<std::size_t>(take->channels));
    for (const auto& [channel, position] : microphones)
      take->microphones[static_cast<std::size_t>(channel - 1)] = position;
    described.takes.push_back(std::move(*take));
    known.push_back(file);
  }
  return described;
}

Result<AddedTakes> edits_to_add(const model::Project& project, const fs::path& project_folder,
                                const std::vector<model::Take>& takes,
                                const std::string& pass_name) {
  AddedTakes added;
  std::int64_t next_id = project.next_id;
  model::Pass shared;
  shared.name = pass_name;
  for (const model::Pass& pass : project.passes) {
    if (!pass_name.empty() && pass.name == pass_name) shared = pass;
  }
  for (model::Take take : takes) {
    const bool there =
        std::any_of(project.takes.begin(), project.takes.end(),
                    [&take](const model::Take& other) { return other.path == take.path; });
    if (there) continue;
    take.id = Id<model::Take>(next_id++);
    if (!store::take_path(project_folder, take)) {
      const Result<fs::path> outside = store::take_path(project_folder, take, true);
      if (!outside) return outside.error();
      if (const Status trusted = store::trust_folder(outside->parent_path()); !trusted) {
        return trusted.error();
      }
    }
    added.edits.emplace_back(model::Add<model::Take>{take, std::nullopt});
    if (pass_name.empty()) {
      model::Pass pass;
      pass.id = Id<model::Pass>(next_id++);
      pass.name = path_text(text_path(take.path).stem());
      pass.takes.push_back({take.id, FrameCount(0), {}});
      added.edits.emplace_back(model::Add<model::Pass>{pass, std::nullopt});
    } else {
      shared.takes.push_back({take.id, FrameCount(0), {}});
    }
    added.takes.push_back(std::move(take));
  }
  if (!pass_name.empty() && !added.takes.empty()) {
    if (shared.id.is_set()) {
      added.edits.emplace_back(model::Replace<model::Pass>{shared});
    } else {
      shared.id = Id<model::Pass>(next_id++);
      added.edits.emplace_back(model::Add<model::Pass>{shared, std::nullopt});
    }
  }
  return added;
}

std::vector<model::Edit> edits_to_remove_take(const model::Project& project, Id<model::Take> take) {
  std::vector<model::Edit> edits;
  for (const model::Mark& mark : project.marks) {
    if (mark.take == take) edits.emplace_back(model::Remove<model::Mark>{mark.id});
  }
  if (const model::Pass* pass = model::pass_of(project, take); pass != nullptr) {
    if (pass->takes.size() == 1) {
      edits.emplace_back(model::Remove<model::Pass>{pass->id});
    } else {
      model::Pass without = *pass;
      std::erase_if(without.takes, [take](const auto& member) { return member.take == take; });
      edits.emplace_back(model::Replace<model::Pass>{without});
    }
  }
  edits.emplace_back(model::Remove<model::Take>{take});
  return edits;
}

}  // namespace fourbeat::work
