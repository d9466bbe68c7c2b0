// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat_demo/demo.h"
#include "takes.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/text.h"

#include <system_error>
#include <utility>

namespace fourbeat::demo {

namespace {

namespace fs = std::filesystem;

/// Removes, when it goes, what it was given to remove.
class Undo {
 public:
  void add(fs::path path) { paths_.push_back(std::move(path)); }
  void keep_all() { paths_.clear(); }
  Undo() = default;
  Undo(const Undo&) = delete;
  Undo& operator=(const Undo&) = delete;
  ~Undo() {
    for (auto path = paths_.rbegin(); path != paths_.rend(); ++path) {
      std::error_code ignored;
      fs::remove(*path, ignored);
    }
  }

 private:
  std::vector<fs::path> paths_;
};

Error cannot(ErrorCode code, const fs::path& path, std::string detail, std::string mend) {
  return Error{code, path_text(path), "", std::move(detail), std::move(mend)};
}

}  // namespace

Result<DemoTruth> write_takes(const fs::path& folder, JobControl& job) {
  for (const std::string_view file : take_files) {
    const fs::path path = folder / text_path(file);
    std::error_code error;
    if (fs::exists(fs::symlink_status(path, error))) {
      return cannot(ErrorCode::would_overwrite, path, "a file of this name is there already",
                    "Choose an empty folder for the demo.");
    }
  }
  Result<std::vector<SynthTake>> takes = synthesise_takes(demo_seed, job);
  if (!takes) return takes.error();
  Undo undo;
  const fs::path takes_folder = folder / "takes";
  for (const fs::path& wanted : {folder, takes_folder}) {
    std::error_code error;
    const bool made = fs::create_directories(wanted, error);
    if (error) {
      return cannot(ErrorCode::io_failed, wanted, "cannot make the folder: " + error.message(), "");
    }
    if (made) undo.add(wanted);
  }
  DemoTruth truth;
  for (SynthTake& take : *takes) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    job.progress(static_cast<double>(truth.takes.size()) / static_cast<double>(takes->size()),
                 "writing takes");
    const fs::path path = folder / text_path(take.truth.file);
    undo.add(path);
    if (Status written = audio::write_wav(path, take.pcm, audio::WavDepth::s24); !written) {
      return written.error();
    }
    take.pcm.channels.clear();
    truth.takes.push_back(std::move(take.truth));
  }
  job.progress(1.0, "writing takes");
  undo.keep_all();
  return truth;
}

}  // namespace fourbeat::demo
