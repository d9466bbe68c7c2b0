// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "written_demo.h"

#include "fourbeat/store/project_file.h"

#include <filesystem>

namespace fourbeat::demo {

/// The demo's project file, its chuff table built and its loops set, made once for all tests.
inline const std::filesystem::path& finished() {
  static const std::filesystem::path file = [] {
    JobControl job;
    std::filesystem::path made = written().folder.path() / "finished.fourbeat";
    REQUIRE(store::save_project(made, written().project));
    if (const Status done = finish_demo(made, job); !done) FAIL(to_line(done.error()));
    return made;
  }();
  return file;
}

}  // namespace fourbeat::demo
