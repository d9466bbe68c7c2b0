// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "command.h"

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <nlohmann/json.hpp>

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace fourbeat::cli {

using Json = nlohmann::ordered_json;

/// Exit statuses: done; done, and errors were found; bad usage or bad input.
inline constexpr int exit_done = 0;
inline constexpr int exit_snags = 1;
inline constexpr int exit_bad = 2;

/// Progress on standard error when it is a terminal; stops at Ctrl-C.
class ConsoleJob final : public JobControl {
 public:
  ConsoleJob();
  ~ConsoleJob() override;
  ConsoleJob(const ConsoleJob&) = delete;
  ConsoleJob& operator=(const ConsoleJob&) = delete;
  [[nodiscard]] bool cancelled() const override;
  void progress(double fraction, std::string_view stage) override;

 private:
  bool terminal_ = false;
  bool shown_ = false;
  int percent_ = -1;
  std::string stage_;
};

/// Prints the one clear line of an error on standard error and gives the exit status for it.
[[nodiscard]] int fail(const Error& error);
/// The same of an error met in a project: where it names no file, the project is it.
[[nodiscard]] int fail_in(const std::string& project, Error error);
/// As above for a warning: the work goes on.
void warn(const std::string& line);
/// One line on standard output, control characters replaced.
void say(const std::string& line);
/// One JSON document on standard output.
void print(const Json& json);

/// A figure for JSON, rounded to `digits` after the point; null where there is none.
[[nodiscard]] Json number(double value, int digits);
[[nodiscard]] Json number(const std::optional<double>& value, int digits);

/// A figure for people: "-12.3 dB", or "none".
[[nodiscard]] std::string figure(const std::optional<double>& value, std::string_view unit);

void add_project_commands(const Command& app);
void add_take_commands(const Command& app);
void add_analyse_commands(const Command& app);
void add_beat_command(const Command& app);
void add_chuff_commands(const Command& app);
void add_produce_commands(const Command& app);
void add_card_command(const Command& app);
void add_deliver_commands(const Command& app);

}  // namespace fourbeat::cli
