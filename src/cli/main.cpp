// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include <cstdio>
#include <exception>
#include <new>

using namespace fourbeat;

namespace {

int run(int argc, char** argv) {
  int status = cli::exit_done;
  try {
    status = cli::run_commands(argc, argv, [](const cli::Command& app) {
      cli::add_project_commands(app);
      cli::add_take_commands(app);
      cli::add_analyse_commands(app);
      cli::add_beat_command(app);
      cli::add_chuff_commands(app);
      cli::add_produce_commands(app);
      cli::add_card_command(app);
      cli::add_deliver_commands(app);
    });
  } catch (const std::bad_alloc&) {
    return cli::fail(Error{ErrorCode::too_large, {}, {}, "out of memory", {}});
  } catch (const std::exception& error) {
    return cli::fail(Error{ErrorCode::internal, {}, {}, error.what(), {}});
  }
  if (std::fflush(stdout) != 0) {
    return cli::fail(Error{ErrorCode::io_failed, "standard output", {}, {}, {}});
  }
  return status;
}

}  // namespace

int main(int argc, char* argv[]) {
  try {
    return run(argc, argv);
  } catch (...) {  // not even the error could be told
    std::fputs("fourbeat: out of memory, or standard error is closed\n", stderr);
    return cli::exit_bad;
  }
}
