// SPDX-License-Identifier: GPL-3.0-or-later
#include "names.h"
#include "proving.h"
#include "zip.h"

#include "fourbeat/base/files.h"
#include "fourbeat/base/text.h"

#include <fmt/format.h>

namespace fourbeat::deliver {

namespace {

namespace fs = std::filesystem;

/// A fresh private folder that goes when the object goes.
class ScratchFolder {
 public:
  [[nodiscard]] static Result<fs::path> make() {
    std::error_code failed;
    const fs::path parent = fs::temp_directory_path(failed);
    for (int i = 1; !failed && i <= 10'000; ++i) {
      fs::path fresh = parent / fmt::format("fourbeat-prove-{}", i);
      if (!fs::create_directory(fresh, failed)) continue;
      fs::permissions(fresh, fs::perms::owner_all, failed);
      if (!failed) return fresh;
    }
    return Error{ErrorCode::io_failed, path_text(parent), {}, "no temporary folder", {}};
  }
  explicit ScratchFolder(fs::path path) : path_(std::move(path)) {}
  ~ScratchFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
  [[nodiscard]] const fs::path& path() const { return path_; }

 private:
  fs::path path_;
};

/// Proves an unpacked bundle; `bundle` names it in errors.
Result<Proof> prove_folder(const fs::path& folder, const fs::path& bundle,
                           const BundleLimits& limits, Faults faults, JobControl& job) {
  const Result<FileSizes> files = scan_folder(folder, limits, faults);
  if (!files) return files.error();
  const auto manifest_file = files->find(std::string(manifest_name));
  if (manifest_file == files->end()) {
    return Error{ErrorCode::bad_input, path_text(bundle), std::string(manifest_name),
                 "a bundle has this file", "give a bundle's folder or zip"};
  }
  if (Status sums = prove_sums(folder, *files, limits, faults, job); !sums) return sums.error();
  const Result<std::string> text = read_text_file(folder / manifest_name, limits.manifest_bytes);
  if (!text) return text.error();
  const Result<Manifest> manifest = parse_manifest(*text);
  if (!manifest && manifest.error().code == ErrorCode::newer_version) {
    Error error = manifest.error();
    error.file = path_text(bundle);
    return error;
  }
  if (!manifest) {
    faults.add(to_line(manifest.error()));
  } else {
    prove_names(*files, *manifest, faults);
    if (Status done = prove_sounds(folder, *files, *manifest, faults, job); !done) {
      return done.error();
    }
    if (Status done = prove_tables(folder, *files, *manifest, limits, faults); !done) {
      return done.error();
    }
  }
  return Proof{faults.lines().empty(), static_cast<int>(files->size()), faults.lines()};
}

/// An error about a file of the bundle, told of the bundle.
Error told_of(const fs::path& bundle, const fs::path& folder, Error error) {
  const fs::path inside = text_path(error.file).lexically_relative(folder);
  if (!inside.empty() && *inside.begin() != "..") {
    const std::string place = path_text(inside);
    error.place = error.place.empty() ? place : place + ", " + error.place;
    error.file = path_text(bundle);
  }
  return error;
}

}  // namespace

void Faults::add(const std::string& line) {
  std::string shown = printable(line);
  if (known_.insert(shown).second) lines_.push_back(std::move(shown));
}

Result<Proof> prove(const std::filesystem::path& bundle, JobControl& job,
                    const BundleLimits& limits) {
  std::error_code failed;
  if (fs::is_directory(bundle, failed)) {
    Result<Proof> proof = prove_folder(bundle, bundle, limits, {}, job);
    return proof ? proof : Result<Proof>(told_of(bundle, bundle, proof.error()));
  }
  const Result<std::int64_t> size = regular_file_size(bundle);
  if (!size) return size.error();
  const Result<fs::path> fresh = ScratchFolder::make();
  if (!fresh) return fresh.error();
  const ScratchFolder scratch(*fresh);
  std::vector<std::string> found;
  if (Status done = unpack_zip(bundle, scratch.path(), limits, found, job); !done) {
    return told_of(bundle, scratch.path(), done.error());
  }
  Faults faults;
  for (const std::string& line : found)
    faults.add(line);
  Result<Proof> proof = prove_folder(scratch.path(), bundle, limits, faults, job);
  return proof ? proof : Result<Proof>(told_of(bundle, scratch.path(), proof.error()));
}

}  // namespace fourbeat::deliver
