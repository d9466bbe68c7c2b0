// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat_demo/demo.h"
#include "support/catch.h"
#include "support/temp_folder.h"

#include <utility>

namespace fourbeat::demo {

/// The demo as written once for all tests of the program.
struct Written {
  Written() {
    JobControl job;
    auto heard = write_takes(folder.path(), job);
    if (!heard) FAIL(to_line(heard.error()));
    truth = std::move(heard).value();
    auto built = demo_project(folder.path(), truth, job);
    if (!built) FAIL(to_line(built.error()));
    project = std::move(built).value();
  }
  tests::TempFolder folder;
  DemoTruth truth;
  model::Project project;
};

inline const Written& written() {
  static const Written made;
  return made;
}

}  // namespace fourbeat::demo
