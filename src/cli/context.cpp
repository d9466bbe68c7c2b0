// SPDX-License-Identifier: GPL-3.0-or-later
#include "context.h"

#include "fourbeat/base/text.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cmath>
#include <csignal>
#include <cstdio>

namespace fourbeat::cli {

namespace {

volatile std::sig_atomic_t interrupted = 0;

void on_interrupt(int) {
  interrupted = 1;
}

}  // namespace

ConsoleJob::ConsoleJob() : terminal_(::isatty(STDERR_FILENO) == 1) {
  std::signal(SIGINT, &on_interrupt);
  std::signal(SIGTERM, &on_interrupt);
}

ConsoleJob::~ConsoleJob() {
  if (shown_) fmt::print(stderr, "\r\x1b[K");
}

bool ConsoleJob::cancelled() const {
  return interrupted != 0;
}

void ConsoleJob::progress(double fraction, std::string_view stage) {
  if (!terminal_) return;
  const int percent = static_cast<int>(std::lround(fraction * 100.0));
  if (percent == percent_ && stage == stage_) return;
  percent_ = percent;
  stage_ = stage;
  shown_ = true;
  fmt::print(stderr, "\r\x1b[K{} {} %", printable(stage), percent);
}

int fail(const Error& error) {
  fmt::print(stderr, "fourbeat: {}\n", to_line(error));
  return error.code == ErrorCode::refused ? exit_snags : exit_bad;
}

int fail_in(const std::string& project, Error error) {
  if (error.file.empty()) error.file = project;
  return fail(error);
}

void warn(const std::string& line) {
  fmt::print(stderr, "fourbeat: {}\n", printable(line));
}

void say(const std::string& line) {
  fmt::print("{}\n", printable(line));
}

void print(const Json& json) {
  fmt::print("{}\n", json.dump(2, ' ', false, Json::error_handler_t::replace));
}

Json number(double value, int digits) {
  if (!std::isfinite(value)) return nullptr;
  const double scale = std::pow(10.0, digits);
  const double rounded = std::round(value * scale) / scale;
  return rounded == 0.0 ? 0.0 : rounded;  // no negative zero
}

Json number(const std::optional<double>& value, int digits) {
  return value ? number(*value, digits) : Json(nullptr);
}

std::string figure(const std::optional<double>& value, std::string_view unit) {
  return value ? fmt::format("{:.1f} {}", *value, unit) : "none";
}

}  // namespace fourbeat::cli
