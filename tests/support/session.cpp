// SPDX-License-Identifier: GPL-3.0-or-later
#define CATCH_CONFIG_RUNNER
#include "support/session.h"

#include "support/catch.h"

#include <cstdlib>
#include <locale>

namespace fourbeat::tests {

int run_session(int argc, char* argv[]) {
  if (const char* name = std::getenv("FOURBEAT_TEST_LOCALE"); name != nullptr) {
    std::locale::global(std::locale(name));
  }
  return Catch::Session().run(argc, argv);
}

}  // namespace fourbeat::tests
