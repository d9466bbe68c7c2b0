// SPDX-License-Identifier: GPL-3.0-or-later
#include "LiveDrive.h"

#include <utility>

namespace fourbeat::ui {

namespace {
constexpr std::size_t drive_room = 1024;
}

LiveDrive::LiveDrive(std::shared_ptr<const drive::CompiledSet> set,
                     std::unique_ptr<drive::Engine> engine, int sample_rate_hz)
    : set_(std::move(set)),
      engine_(std::move(engine)),
      sample_rate_hz_(sample_rate_hz),
      given_(drive_room),
      obeyed_(drive_room) {}

Result<std::shared_ptr<LiveDrive>> LiveDrive::create(std::shared_ptr<const drive::CompiledSet> set,
                                                     int sample_rate_hz) {
  drive::EngineOptions options;
  options.speed_steps = speed_steps;
  options.seed = seed;
  options.command_capacity = drive_room;
  auto engine = drive::Engine::create(set, options);
  if (!engine) return engine.error();
  return std::shared_ptr<LiveDrive>(
      new LiveDrive(std::move(set), std::move(*engine), sample_rate_hz));
}

std::vector<drive::Command> LiveDrive::takeObeyed() {
  std::vector<drive::Command> commands;
  drive::Command command;
  while (obeyed_.pop(command))
    commands.push_back(command);
  return commands;
}

std::vector<drive::Event> LiveDrive::takeEvents() {
  std::vector<drive::Event> events;
  drive::EngineEvent event;
  while (engine_->pop(event))
    events.push_back(drive::log_event(*set_, event));
  return events;
}

std::uint64_t LiveDrive::lost() const noexcept {
  return engine_->commands_lost() + engine_->events_lost() +
         untold_.load(std::memory_order_relaxed);
}

void LiveDrive::render(std::span<float> out) noexcept {
  // Here the sound thread is the engine's control thread too: it alone knows the frame.
  drive::Command command;
  while (given_.pop(command)) {
    command.frame = engine_->frame();
    if (!obeyed_.push(command)) untold_.fetch_add(1, std::memory_order_relaxed);
    engine_->push(command);
  }
  engine_->render(out);
  frames_.store(engine_->frame(), std::memory_order_release);
}

}  // namespace fourbeat::ui
