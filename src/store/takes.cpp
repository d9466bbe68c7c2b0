// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/store/takes.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/files.h"
#include "fourbeat/base/sha256.h"
#include "fourbeat/base/text.h"
#include "fourbeat/store/trust.h"

#include <fmt/format.h>

#include <map>
#include <system_error>

namespace fourbeat::store {

namespace fs = std::filesystem;

namespace {

constexpr std::size_t relink_limit_files = 10'000;

/// A stretch of a longer job, as a job of its own.
class PartOfJob final : public JobControl {
 public:
  PartOfJob(JobControl& whole, std::size_t part, std::size_t parts)
      : whole_(whole), part_(static_cast<double>(part)), parts_(static_cast<double>(parts)) {}
  [[nodiscard]] bool cancelled() const override { return whole_.cancelled(); }
  void progress(double fraction, std::string_view stage) override {
    whole_.progress((part_ + fraction) / parts_, stage);
  }

 private:
  JobControl& whole_;
  double part_;
  double parts_;
};

Error cancelled() {
  return {ErrorCode::cancelled, {}, {}, {}, {}};
}

/// `path` with the links of its folders resolved, its own not: a take that is a link stays one.
fs::path folder_resolved(const fs::path& path) {
  std::error_code failed;
  const fs::path whole = fs::absolute(path, failed).lexically_normal();
  const fs::path folder = fs::weakly_canonical(whole.parent_path(), failed);
  return failed ? whole : folder / whole.filename();
}

fs::path resolved(const fs::path& folder) {
  std::error_code failed;
  fs::path whole = fs::weakly_canonical(folder.empty() ? fs::path(".") : folder, failed);
  return failed ? folder : whole;
}

std::string relative_text(const fs::path& file, const fs::path& project_folder) {
  return path_text(folder_resolved(file).lexically_relative(resolved(project_folder)));
}

/// What differs between a take and the file's header, or "".
std::string difference(const model::Take& take, const audio::SoundFileInfo& info) {
  if (info.sample_rate_hz != take.sample_rate_hz) {
    return fmt::format("has {} Hz, had {}", info.sample_rate_hz, take.sample_rate_hz);
  }
  if (info.channels != take.channels) {
    return fmt::format("has {} channels, had {}", info.channels, take.channels);
  }
  if (info.frames != take.frames) {
    return fmt::format("has {} frames, had {}", info.frames.value(), take.frames.value());
  }
  return {};
}

TakeStatus status_of(const model::Take& take, TakeState state, fs::path path, std::string detail) {
  return {take.id, state, std::move(path), std::move(detail)};
}

Result<TakeStatus> look_at(const model::Take& take, const fs::path& project_folder,
                           bool verify_hash, JobControl& job) {
  const Result<fs::path> path = take_path(project_folder, take);
  if (!path) {
    return status_of(take, TakeState::outside, text_path(take.path), path.error().detail);
  }
  const Result<std::int64_t> size = regular_file_size(*path);
  if (!size) {
    const bool missing = size.error().code == ErrorCode::not_found;
    return status_of(take, missing ? TakeState::missing : TakeState::unreadable, *path,
                     std::string(error_text(size.error().code).what));
  }
  if (*size != take.size_bytes) {
    return status_of(take, TakeState::changed, *path,
                     fmt::format("has {} bytes, had {}", *size, take.size_bytes));
  }
  const Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(*path);
  if (!reader) {
    return status_of(take, TakeState::unreadable, *path,
                     std::string(error_text(reader.error().code).what));
  }
  if (std::string differs = difference(take, reader->info()); !differs.empty()) {
    return status_of(take, TakeState::changed, *path, std::move(differs));
  }
  if (verify_hash) {
    const Result<std::string> sha256 = sha256_of_file(*path, job);
    if (!sha256 && sha256.error().code == ErrorCode::cancelled) return sha256.error();
    if (!sha256) return status_of(take, TakeState::unreadable, *path, sha256.error().detail);
    if (*sha256 != take.sha256) {
      return status_of(take, TakeState::changed, *path, "its content is not what it was");
    }
  }
  return status_of(take, TakeState::present, *path, {});
}

struct FoundFile {
  fs::path path;
  std::int64_t size_bytes = 0;
  std::optional<std::string> sha256;  ///< once it was needed
};

/// The regular files of a folder and below, in the order of their paths.
Result<std::vector<FoundFile>> files_below(const fs::path& folder, JobControl& job) {
  std::error_code failed;
  if (!fs::is_directory(folder, failed)) {
    return Error{ErrorCode::not_found, path_text(folder), {}, "is not a folder", {}};
  }
  std::vector<FoundFile> files;
  for (fs::recursive_directory_iterator
           at(folder, fs::directory_options::skip_permission_denied, failed),
       end;
       !failed && at != end; at.increment(failed)) {
    if (job.cancelled()) return cancelled();
    std::error_code unknown;
    if (!fs::is_regular_file(at->symlink_status(unknown)) || unknown) continue;
    if (files.size() == relink_limit_files) {
      return Error{ErrorCode::too_large,
                   path_text(folder),
                   {},
                   fmt::format("more than {} files", relink_limit_files),
                   "name a folder nearer to the takes"};
    }
    const std::uintmax_t size = at->file_size(unknown);
    if (!unknown) files.push_back({at->path(), static_cast<std::int64_t>(size), {}});
  }
  std::sort(files.begin(), files.end(),
            [](const FoundFile& a, const FoundFile& b) { return a.path < b.path; });
  return files;
}

/// The file that is a take's: of its size and hash, those of its name tried first.
Result<const FoundFile*> file_of(const model::Take& take, std::vector<FoundFile>& files,
                                 JobControl& job) {
  const fs::path name = text_path(take.path).filename();
  for (const bool same_name : {true, false}) {
    for (FoundFile& file : files) {
      if (file.size_bytes != take.size_bytes) continue;
      if ((file.path.filename() == name) != same_name) continue;
      if (!file.sha256) {
        Result<std::string> sha256 = sha256_of_file(file.path, job);
        if (!sha256 && sha256.error().code == ErrorCode::cancelled) return sha256.error();
        file.sha256 = sha256 ? std::move(*sha256) : std::string();
      }
      if (*file.sha256 == take.sha256) return &file;
    }
  }
  return nullptr;
}

}  // namespace

Result<fs::path> take_path(const fs::path& project_folder, const model::Take& take,
                           bool allow_outside) {
  const fs::path path = text_path(take.path);
  const fs::path normal = path.lexically_normal();
  const bool outside = path.is_absolute() || normal.empty() || *normal.begin() == "..";
  fs::path whole = (project_folder / path).lexically_normal();
  if (outside && !allow_outside && !is_trusted(whole)) {
    return Error{ErrorCode::bad_input,
                 take.path,
                 {},
                 "its path leaves the project's folder",
                 "say that its folder is trusted (fourbeat trust), or move the take into the "
                 "project's folder and relink it"};
  }
  return whole;
}

Result<std::vector<TakeStatus>> look_at_takes(const model::Project& project,
                                              const fs::path& project_folder, bool verify_hashes,
                                              JobControl& job) {
  std::vector<TakeStatus> states;
  for (std::size_t i = 0; i < project.takes.size(); ++i) {
    if (job.cancelled()) return cancelled();
    PartOfJob part(job, i, project.takes.size());
    part.progress(0.0, "looking at takes");
    Result<TakeStatus> state = look_at(project.takes[i], project_folder, verify_hashes, part);
    if (!state) return state.error();
    states.push_back(std::move(*state));
  }
  return states;
}

Result<model::Take> describe_take(const fs::path& file, const fs::path& project_folder,
                                  JobControl& job) {
  const Result<std::int64_t> size = regular_file_size(file);
  if (!size) return size.error();
  const Result<audio::SoundFileReader> reader = audio::SoundFileReader::open(file);
  if (!reader) return reader.error();
  Result<std::string> sha256 = sha256_of_file(file, job);
  if (!sha256) return sha256.error();
  model::Take take;
  take.path = relative_text(file, project_folder);
  if (!is_utf8(take.path)) {
    return Error{ErrorCode::bad_input, path_text(file), {}, "its name is not UTF-8", "rename it"};
  }
  take.size_bytes = *size;
  take.sha256 = std::move(*sha256);
  take.sample_rate_hz = reader->info().sample_rate_hz;
  take.channels = reader->info().channels;
  take.frames = reader->info().frames;
  take.format = reader->info().format;
  return take;
}

Result<std::vector<model::Edit>> relink(const model::Project& project,
                                        const fs::path& project_folder, const fs::path& folder,
                                        JobControl& job) {
  const Result<std::vector<TakeStatus>> states = look_at_takes(project, project_folder, false, job);
  if (!states) return states.error();
  Result<std::vector<FoundFile>> files = files_below(folder, job);
  if (!files) return files.error();
  std::vector<model::Edit> edits;
  for (std::size_t i = 0; i < project.takes.size(); ++i) {
    if ((*states)[i].state == TakeState::present) continue;
    PartOfJob part(job, i, project.takes.size());
    const Result<const FoundFile*> found = file_of(project.takes[i], *files, part);
    if (!found) return found.error();
    if (*found == nullptr) continue;
    model::Take take = project.takes[i];
    take.path = relative_text((*found)->path, project_folder);
    if (is_utf8(take.path) && take.path != project.takes[i].path) {
      edits.emplace_back(model::Replace<model::Take>{std::move(take)});
    }
  }
  return edits;
}

Status refuse_takes_as_output(const model::Project& project, const fs::path& project_folder,
                              const fs::path& output) {
  for (const model::Take& take : project.takes) {
    const Result<fs::path> path = take_path(project_folder, take, true);
    if (!path) continue;
    if (same_file(*path, output) || folder_resolved(*path) == folder_resolved(output)) {
      return Error{ErrorCode::would_overwrite,
                   path_text(output),
                   {},
                   fmt::format("it is take {}", take.id.value()),
                   {}};
    }
  }
  return ok();
}

}  // namespace fourbeat::store
