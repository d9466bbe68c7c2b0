// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"

#include "support/catch.h"

#include "fourbeat/base/files.h"

#include <sys/wait.h>

#include <cstdlib>

namespace fourbeat::tests {

Ran run(const TempFolder& folder, const std::string& arguments) {
  const char* command = std::getenv("FOURBEAT_COMMAND");
  REQUIRE(command != nullptr);
  const std::string line = "cd " + folder.path().string() + " && " + command + " " + arguments +
                           " > stdout.txt 2> stderr.txt";
  Ran ran;
  const int status = std::system(line.c_str());
  ran.status = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  ran.out = read_text_file(folder / "stdout.txt", 1 << 24).value_or("");
  ran.err = read_text_file(folder / "stderr.txt", 1 << 24).value_or("");
  return ran;
}

}  // namespace fourbeat::tests
