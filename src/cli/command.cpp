// SPDX-License-Identifier: GPL-3.0-or-later
#include "command.h"

#include "context.h"

#include "fourbeat/base/text.h"

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include <cstdint>
#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::cli {

Option& Option::required() {
  option_.required();
  return *this;
}

Option& Option::repeatable() {
  option_.expected(1)->take_all();
  return *this;
}

Option& Option::within(double least, double most) {
  option_.check(CLI::Range(least, most));
  return *this;
}

Option& Option::one_of(std::initializer_list<const char*> words) {
  option_.check(CLI::IsMember(std::vector<std::string>(words.begin(), words.end())));
  return *this;
}

Option& Option::excludes(std::initializer_list<const char*> names) {
  for (const char* name : names)
    option_.excludes(app_.get_option(name));
  return *this;
}

template <class Value>
Option Command::option(const std::string& name, Value& value, const std::string& help) const {
  return {app_, *app_.add_option(name, value, help)};
}
template Option Command::option(const std::string&, std::string&, const std::string&) const;
template Option Command::option(const std::string&, int&, const std::string&) const;
template Option Command::option(const std::string&, std::int64_t&, const std::string&) const;
template Option Command::option(const std::string&, double&, const std::string&) const;
template Option Command::option(const std::string&, std::optional<int>&, const std::string&) const;
template Option Command::option(const std::string&, std::optional<std::int64_t>&,
                                const std::string&) const;
template Option Command::option(const std::string&, std::optional<double>&,
                                const std::string&) const;
template Option Command::option(const std::string&, std::vector<std::string>&,
                                const std::string&) const;
template Option Command::option(const std::string&, std::vector<std::int64_t>&,
                                const std::string&) const;

void Command::flag(const std::string& name, bool& value, const std::string& help) const {
  app_.add_flag(name, value, help);
}

Command Command::group(const std::string& name, const std::string& help) const {
  CLI::App* app = app_.add_subcommand(name, help);
  app->require_subcommand(1);
  return Command(*app);
}

namespace {
int status = exit_done;  ///< of the command that ran
}

void Command::add(const std::string& name, const std::string& help,
                  const std::function<void(const Command&)>& options,
                  const std::function<int()>& body) const {
  CLI::App* app = app_.add_subcommand(name, help);
  options(Command(*app));
  app->callback([body] { status = body(); });
}

int run_commands(int argc, char** argv, const std::function<void(const Command&)>& add) {
  CLI::App app{"Makes the sound set of a model steam locomotive from field recordings."};
  app.name("fourbeat");
  app.require_subcommand(1);
  app.set_version_flag("--version", std::string("fourbeat ") + FOURBEAT_VERSION);
  add(Command(app));
  try {
    app.parse(argc, argv);
  } catch (const CLI::Success& help) {
    return app.exit(help);
  } catch (const CLI::ParseError& error) {
    fmt::print(stderr, "fourbeat: {}; see fourbeat --help\n", printable(error.what()));
    return exit_bad;
  }
  return status;
}

}  // namespace fourbeat::cli
