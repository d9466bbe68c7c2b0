// SPDX-License-Identifier: GPL-3.0-or-later
#include "user_folder.h"

#include "fourbeat/base/text.h"

#include <cstdlib>

namespace fourbeat::store {

namespace {
std::filesystem::path environment_path(const char* name) {
  // NOLINTNEXTLINE(concurrency-mt-unsafe): nothing in this program sets the environment
  const char* value = std::getenv(name);
  return value == nullptr ? std::filesystem::path() : text_path(value);
}
}  // namespace

std::filesystem::path user_folder(const char* own, const char* xdg, const char* below_home) {
  if (std::filesystem::path folder = environment_path(own); folder.is_absolute()) {
    return folder;
  }
  if (const std::filesystem::path folder = environment_path(xdg); folder.is_absolute()) {
    return folder / "fourbeat";
  }
  if (const std::filesystem::path home = environment_path("HOME"); home.is_absolute()) {
    return home / below_home / "fourbeat";
  }
  std::error_code ignored;
  return std::filesystem::temp_directory_path(ignored) / "fourbeat-user";
}

std::filesystem::path settled_path(const std::filesystem::path& path) {
  std::error_code failed;
  std::filesystem::path whole = std::filesystem::weakly_canonical(path, failed);
  if (!failed && whole.is_absolute()) return whole;
  return std::filesystem::absolute(path, failed).lexically_normal();
}

}  // namespace fourbeat::store
