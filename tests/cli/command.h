// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/temp_folder.h"

#include <string>

namespace fourbeat::tests {

struct Ran {
  int status = -1;
  std::string out;
  std::string err;
};

/// Runs the command in a folder with arguments as a shell reads them, both streams caught.
[[nodiscard]] Ran run(const TempFolder& folder, const std::string& arguments);

}  // namespace fourbeat::tests
