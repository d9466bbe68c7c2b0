// SPDX-License-Identifier: GPL-3.0-or-later
#include "migrate.h"

#include "fourbeat/store/project_file.h"

namespace fourbeat::store {

std::span<const Migration> project_migrations() {
  // One function a version, with a frozen project of the old version in tests/store/golden.
  static_assert(project_version == 1, "a new version needs the step that leads to it");
  return {};
}

void migrate(Json& document, int version, std::span<const Migration> steps) {
  for (std::size_t i = static_cast<std::size_t>(version) - 1; i < steps.size(); ++i) {
    steps[i](document);
    document["version"] = static_cast<int>(i) + 2;
  }
}

}  // namespace fourbeat::store
