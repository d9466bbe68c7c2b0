// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <initializer_list>
#include <string>

namespace CLI {  // NOLINT(readability-identifier-naming): the library's own name
class App;
class Option;
}  // namespace CLI

namespace fourbeat::cli {

/// CLI11 behind a wall: its headers take some 20 s to compile, so one source alone includes them.

/// An option or argument of a command, owned by the command.
class Option {
 public:
  Option(CLI::App& app, CLI::Option& option) : app_(app), option_(option) {}
  Option& required();
  /// Named again for each value.
  Option& repeatable();
  Option& within(double least, double most);
  Option& one_of(std::initializer_list<const char*> words);
  /// Refused beside any of these, which the command has already.
  Option& excludes(std::initializer_list<const char*> names);

 private:
  CLI::App& app_;
  CLI::Option& option_;
};

class Command {
 public:
  explicit Command(CLI::App& app) : app_(app) {}
  /// name: "--name", or "NAME" for an argument. value, which must outlive the parse: std::string,
  /// int, std::int64_t, double, an optional of a number, or a vector of std::string or
  /// std::int64_t.
  template <class Value>
  // NOLINTNEXTLINE(modernize-use-nodiscard): most options need no more said
  Option option(const std::string& name, Value& value, const std::string& help) const;
  void flag(const std::string& name, bool& value, const std::string& help) const;
  /// A command that only holds others.
  [[nodiscard]] Command group(const std::string& name, const std::string& help) const;
  /// A command of this one: `options` gives it its options, `body` the exit status when it runs.
  void add(const std::string& name, const std::string& help,
           const std::function<void(const Command&)>& options,
           const std::function<int()>& body) const;

 private:
  CLI::App& app_;
};

/// Parses the arguments and runs the command they name; gives the exit status. `add` puts the
/// commands in.
[[nodiscard]] int run_commands(int argc, char** argv,
                               const std::function<void(const Command&)>& add);

}  // namespace fourbeat::cli
