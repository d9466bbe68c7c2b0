// SPDX-License-Identifier: GPL-3.0-or-later
#define CATCH_CONFIG_RUNNER
#include "support/catch.h"

#include <cstdlib>
#include <locale>

int main(int argc, char* argv[]) {
  // FOURBEAT_TEST_LOCALE repeats the tests under another locale: numbers in files must not care.
  if (const char* name = std::getenv("FOURBEAT_TEST_LOCALE"); name != nullptr) {
    std::locale::global(std::locale(name));
  }
  return Catch::Session().run(argc, argv);
}
