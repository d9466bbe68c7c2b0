// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"

#include <cstdlib>
#include <filesystem>
#include <optional>
#include <string>

namespace fourbeat::tests {

/// A recording by others, in the folder FOURBEAT_RECORDINGS. Where it is missing the test is
/// skipped, visibly; under CI=true that is a failure.
inline std::optional<std::filesystem::path> recording(const std::string& name) {
  const char* folder = std::getenv("FOURBEAT_RECORDINGS");
  if (folder != nullptr) {
    const std::filesystem::path path = std::filesystem::path(folder) / name;
    if (std::filesystem::is_regular_file(path)) return path;
  }
  const std::string why = name + " is not in the folder that FOURBEAT_RECORDINGS names" +
                          (folder == nullptr ? " (it is not set)" : "");
  const char* ci = std::getenv("CI");
  if (ci != nullptr && std::string(ci) == "true") FAIL(why);
  WARN("SKIPPED: " << why);
  return std::nullopt;
}

}  // namespace fourbeat::tests
