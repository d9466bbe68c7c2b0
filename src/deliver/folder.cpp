// SPDX-License-Identifier: GPL-3.0-or-later
#include "names.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/sha256.h"
#include "fourbeat/base/text.h"
#include "fourbeat/deliver/bundle.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

namespace fourbeat::deliver {

namespace {

namespace fs = std::filesystem;

Error io_error(const fs::path& path, const std::error_code& failed) {
  const ErrorCode code = failed == std::errc::no_space_on_device          ? ErrorCode::no_space
                         : failed == std::errc::no_such_file_or_directory ? ErrorCode::not_found
                                                                          : ErrorCode::io_failed;
  return Error{code, path_text(path), {}, failed.message(), {}};
}

/// A folder that goes when the object goes.
class Passing {
 public:
  explicit Passing(fs::path path) : path_(std::move(path)) {}
  ~Passing() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  Passing(const Passing&) = delete;
  Passing& operator=(const Passing&) = delete;

 private:
  fs::path path_;
};

/// A fresh folder beside `target`.
Result<fs::path> folder_beside(const fs::path& target) {
  constexpr int tries = 1000;
  std::error_code failed;
  for (int i = 1; i <= tries; ++i) {
    fs::path fresh = target.parent_path() /
                     text_path(fmt::format(".{}.part-{}", path_text(target.filename()), i));
    if (fs::create_directory(fresh, failed)) return fresh;
    if (failed) return io_error(fresh, failed);
  }
  return Error{ErrorCode::io_failed,
               path_text(target),
               {},
               "many unfinished folders lie beside it",
               "remove them"};
}

Error stranger(const fs::path& folder, const std::string& why) {
  return Error{ErrorCode::would_overwrite,
               path_text(folder),
               {},
               why,
               "choose an empty folder, or remove this one yourself"};
}

/// Every regular file below `folder` by its path inside; anything else is a stranger.
Result<std::set<std::string>> files_below(const fs::path& folder) {
  std::set<std::string> files;
  std::error_code failed;
  for (fs::recursive_directory_iterator entry(folder, failed), end; !failed && entry != end;
       entry.increment(failed)) {
    const fs::file_status status = entry->symlink_status(failed);
    if (failed) break;
    const std::string name = path_text(entry->path().lexically_relative(folder));
    if (fs::is_directory(status)) continue;
    if (!fs::is_regular_file(status)) return stranger(folder, printable(name) + " is no file");
    files.insert(name);
  }
  if (failed) return io_error(folder, failed);
  return files;
}

/// Ok when `folder` may be replaced: absent, empty, or an older bundle exactly as it was written.
Status may_replace(const fs::path& folder, JobControl& job) {
  std::error_code failed;
  const fs::file_status status = fs::symlink_status(folder, failed);
  if (!fs::exists(status)) return ok();
  if (!fs::is_directory(status)) return stranger(folder, "it is no folder");
  Result<std::set<std::string>> files = files_below(folder);
  if (!files) return files.error();
  if (files->empty() && fs::is_empty(folder, failed)) return ok();
  if (files->erase(std::string(sums_name)) == 0) {
    return stranger(folder, "it holds something, and no older bundle");
  }
  constexpr std::int64_t sums_limit_bytes = std::int64_t{64} << 20U;
  const Result<std::string> text = read_text_file(folder / sums_name, sums_limit_bytes);
  if (!text) return text.error();
  std::vector<int> bad_lines;
  for (const Sum& sum : parse_sums(*text, bad_lines)) {
    if (files->erase(sum.path) == 0) return stranger(folder, "the older bundle in it lacks files");
    const Result<std::string> digest = sha256_of_file(folder / text_path(sum.path), job);
    if (!digest) return digest.error();
    if (*digest != sum.sha256) {
      return stranger(folder, printable(sum.path) + " was changed since it was packed");
    }
  }
  if (!bad_lines.empty()) return stranger(folder, "its SHA256SUMS is not ours");
  if (!files->empty()) {
    return stranger(folder, printable(*files->begin()) + " is not of the older bundle");
  }
  return ok();
}

}  // namespace

Status write_bundle(const std::vector<BundleFile>& files, const std::filesystem::path& folder,
                    JobControl& job) {
  for (const BundleFile& file : files) {
    if (const std::string fault = fault_of_path(file.path); !fault.empty()) {
      return Error{ErrorCode::bad_argument, path_text(folder), file.path, fault, {}};
    }
  }
  std::error_code failed;
  fs::path target = fs::weakly_canonical(fs::absolute(folder, failed), failed);
  if (failed) return io_error(folder, failed);
  if (target.filename().empty()) target = target.parent_path();  // it ended in '/'
  if (Status may = may_replace(target, job); !may) return may;
  const Result<fs::path> fresh = folder_beside(target);
  if (!fresh) return fresh.error();
  const Passing passing(*fresh);
  double done = 0.0;
  for (const BundleFile& file : files) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(folder), {}, {}, {}};
    const fs::path path = *fresh / text_path(file.path);
    fs::create_directories(path.parent_path(), failed);
    if (failed) return io_error(folder, failed);
    if (Status wrote = write_file_atomically(path, file.content); !wrote) {
      Error error = wrote.error();
      error.file = path_text(folder);
      error.place = file.path;
      return error;
    }
    job.progress(++done / static_cast<double>(files.size()), "writing the bundle");
  }
  if (job.cancelled()) return Error{ErrorCode::cancelled, path_text(folder), {}, {}, {}};
  return put_folder_in_place(*fresh, target);
}

}  // namespace fourbeat::deliver
