// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat_demo/demo.h"
#include "support/catch.h"

#include <utility>
#include <vector>

namespace fourbeat::demo {

/// The demo's takes, synthesised once for all tests of the program.
inline const std::vector<SynthTake>& takes() {
  static const std::vector<SynthTake> made = [] {
    JobControl job;
    auto result = synthesise_takes(demo_seed, job);
    if (!result) FAIL(to_line(result.error()));
    return std::move(result).value();
  }();
  return made;
}

}  // namespace fourbeat::demo
