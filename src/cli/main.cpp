// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>

#include <cstdio>
#include <exception>

using namespace fourbeat;

namespace {

int run(int argc, char** argv) {
  CLI::App app{"Makes the sound set of a model steam locomotive from field recordings."};
  app.name("fourbeat");
  app.require_subcommand(1);
  app.set_version_flag("--version", std::string("fourbeat ") + FOURBEAT_VERSION);
  cli::add_project_commands(app);
  cli::add_take_commands(app);
  cli::add_analyse_commands(app);
  cli::add_beat_command(app);
  cli::add_chuff_commands(app);
  cli::add_produce_commands(app);
  cli::add_deliver_commands(app);
  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& help) {
    return app.exit(help);
  } catch (const CLI::ParseError& error) {
    fmt::print(stderr, "fourbeat: {}; see fourbeat --help\n", printable(error.what()));
    return cli::exit_bad;
  } catch (const std::bad_alloc&) {
    return cli::fail(Error{ErrorCode::too_large, {}, {}, "out of memory", {}});
  } catch (const std::exception& error) {
    return cli::fail(Error{ErrorCode::internal, {}, {}, error.what(), {}});
  }
  if (std::fflush(stdout) != 0) {
    return cli::fail(Error{ErrorCode::io_failed, "standard output", {}, {}, {}});
  }
  return cli::exit_status();
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
