// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat_demo/demo.h"
#include "takes.h"
#include "undo.h"

#include "fourbeat/audio/sound_file.h"
#include "fourbeat/base/text.h"

#include <system_error>
#include <utility>

namespace fourbeat::demo {

namespace {

namespace fs = std::filesystem;

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
  undo.add_missing_folders(takes_folder);
  std::error_code error;
  fs::create_directories(takes_folder, error);
  if (error) {
    return cannot(ErrorCode::io_failed, takes_folder, "cannot make the folder: " + error.message(),
                  "");
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
