// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/engine.h"

#include "denormals.h"
#include "effort.h"
#include "image.h"
#include "key_player.h"

#include "fourbeat/base/wheel.h"
#include "fourbeat/drive/motion.h"
#include "fourbeat/drive/spsc_queue.h"
#include "fourbeat/model/cv_values.h"
#include "fourbeat/model/run_card.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>
#include <new>
#include <utility>

namespace fourbeat::drive {

namespace {

constexpr int slice_frames = 1024;  // size of the stem buffers
constexpr int most_voices = 256;

bool in_range(const Command& command, int last_step) noexcept {
  switch (command.kind) {
    case CommandKind::throttle_step:
      return command.value >= 0 && command.value <= last_step;
    case CommandKind::key:
      return command.number >= 0 && command.number <= model::highest_key;
    case CommandKind::direction:
      return true;
    case CommandKind::cv:
      return command.number >= 1 && command.number <= 1024 && command.value >= 0 &&
             command.value <= 255;
    case CommandKind::load:
      return command.amount >= 0.0 && command.amount <= 1.0;
    case CommandKind::gradient:
      return command.amount >= -50.0 && command.amount <= 50.0;
  }
  return false;
}

}  // namespace

struct Engine::Core {
  /// The next beat, when it falls before the next grid point.
  struct Beat {
    bool due = false;
    std::int64_t frame = 0;
    double speed_kmh = 0.0;
  };

  Core(std::shared_ptr<const CompiledSet> compiled, const EngineOptions& options)
      : set(std::move(compiled)),
        speed_steps(options.speed_steps),
        last_step(model::last_step(options.speed_steps)),
        commands(options.command_capacity),
        events(options.event_capacity),
        cvs(set->cvs),
        motion(set->engine, set->sample_rate_hz, options.speed_steps),
        effort_rule(set->engine.top_speed_kmh, set->sample_rate_hz),
        player(*set, options.voice_limit == 0 ? set->voices : options.voice_limit, events) {
    controls.cvs = momentum_cvs(cvs);
    face();
    set_curves();
    if (set->beat_turns.front() == 0.0) skip_beat();  // standing on it is not reaching it
  }

  void run(std::int64_t frames, float* chuffs, float* keys) noexcept;
  void face() noexcept;
  void set_curves() noexcept;
  void take_due() noexcept;
  void take(const Command& command) noexcept;
  void reach_grid() noexcept;
  void tell_state() noexcept;
  void find_beat() noexcept;
  void sound_beats() noexcept;
  void play_row(int index) noexcept;
  void skip_beat() noexcept;
  void tell_speed() noexcept;
  [[nodiscard]] std::int64_t next_change() const noexcept;

  std::shared_ptr<const CompiledSet> set;
  int speed_steps;
  int last_step;
  SpscQueue<Command> commands;
  EventSink events;
  std::atomic<std::uint64_t> commands_lost{0};

  CvBank cvs;
  bool asked_forward = true;
  Controls controls;
  bool controls_changed = true;
  bool curves_changed = false;
  Motion motion;
  EffortRule effort_rule;
  model::Effort effort = model::Effort::easy;
  model::State state = model::State::standing;
  bool state_told = false;
  double rest_turns = 0.0;
  KeyPlayer player;

  std::int64_t now = 0;
  std::int64_t next_grid = 0;
  std::int64_t speeds_told = 0;
  Beat beat;
  std::int64_t beat_turn = 0;  // of the beat to come
  std::size_t beat_position = 0;

  std::array<float, slice_frames> chuff_buffer{};
  std::array<float, slice_frames> key_buffer{};
};

void Engine::Core::take(const Command& command) noexcept {
  if (!in_range(command, last_step)) {
    commands_lost.fetch_add(1, std::memory_order_relaxed);
    return;
  }
  switch (command.kind) {
    case CommandKind::throttle_step:
      controls.throttle_step = command.value;
      break;
    case CommandKind::key:
      player.set_key(now, command.number, command.value != 0);
      return;
    case CommandKind::direction:
      asked_forward = command.value != 0;
      face();
      break;
    case CommandKind::cv: {
      EngineEvent event;
      event.frame = now;
      event.kind = EventKind::cv;
      event.number = command.number;
      event.value = command.value;
      events.send(event);
      cvs.set(command.number, command.value);
      controls.cvs = momentum_cvs(cvs);
      curves_changed = curves_changed || shapes_curve(command.number);
      face();
      break;
    }
    case CommandKind::load:
      controls.load = command.amount;
      break;
    case CommandKind::gradient:
      controls.gradient_percent = command.amount;
      break;
  }
  controls_changed = true;
}

/// CV29 can turn round what the driver calls forward.
void Engine::Core::face() noexcept {
  const bool turned = (cvs.get(model::basic_settings_cv, 0) & model::cv29::reversed_direction) != 0;
  controls.forward = asked_forward != turned;
}

void Engine::Core::set_curves() noexcept {
  motion.set_curves(throttle_curve(cvs, speed_steps, true),
                    throttle_curve(cvs, speed_steps, false));
  curves_changed = false;
}

void Engine::Core::take_due() noexcept {
  for (const Command* command = commands.front(); command != nullptr && command->frame <= now;
       command = commands.front()) {
    take(*command);
    commands.pop();
  }
}

void Engine::Core::skip_beat() noexcept {
  if (++beat_position == set->beat_turns.size()) {
    beat_position = 0;
    ++beat_turn;
  }
}

void Engine::Core::find_beat() noexcept {
  beat.due = false;
  const auto frames = motion.frames_until(beat_turn, set->beat_turns[beat_position]);
  if (!frames) return;
  const double in_segment =
      *frames + static_cast<double>(motion.plan_frame() - (next_grid - control_grid_frames));
  if (in_segment >= control_grid_frames) return;
  beat.due = true;
  beat.frame = motion.plan_frame() + frame_of_beat(*frames);
  beat.speed_kmh = motion.speed_kmh(static_cast<double>(motion.plan_frame()) + *frames);
}

void Engine::Core::sound_beats() noexcept {
  while (beat.due && beat.frame <= now) {
    EngineEvent event;
    event.frame = now;
    event.kind = EventKind::beat;
    event.speed_kmh = beat.speed_kmh;
    event.effort = effort;
    event.position = static_cast<int>(beat_position);
    const double turns =
        static_cast<double>(beat_turn) + set->beat_turns[beat_position] - rest_turns;
    event.row = choose_row(set->bands, beat.speed_kmh, effort, condition_of(turns, controls.load));
    events.send(event);
    play_row(event.row);
    skip_beat();
    find_beat();
  }
}

void Engine::Core::play_row(int index) noexcept {
  if (index == none) {
    player.unfuse(now);
    return;
  }
  const ImageRow& row = set->rows[static_cast<std::size_t>(index)];
  if (row.fused.clip != none) {
    player.fuse(now, row.fused);
    return;
  }
  player.unfuse(now);
  const ImagePart* chuff = row.chuff(beat_turn, beat_position);
  if (chuff != nullptr) player.chuff(now, *chuff);
}

void Engine::Core::tell_state() noexcept {
  const auto frame = static_cast<double>(now);
  const double speed = motion.speed_kmh(frame);
  if (speed == 0.0) rest_turns = motion.turns(frame);
  const model::State next =
      state_of(speed, motion.goal_kmh(), motion.turns(frame) - rest_turns, effort);
  if (state_told && next == state) return;
  state = next;
  state_told = true;
  EngineEvent event;
  event.frame = now;
  event.kind = EventKind::state;
  event.state = state;
  events.send(event);
}

void Engine::Core::reach_grid() noexcept {
  const double speed = motion.speed_kmh(static_cast<double>(now));
  if (speed == 0.0) player.unfuse(now);  // no beat comes that would end it
  const bool turning = controls.forward != motion.forward();
  const double goal =
      turning && speed > 0.0 ? 0.0 : motion.target_kmh(controls.throttle_step, controls.forward);
  effort = effort_rule.update({now, speed, goal, controls.load, controls.gradient_percent});
  if (controls_changed || (turning && speed == 0.0)) {
    if (curves_changed) set_curves();
    motion.plan(now, controls);
    controls_changed = false;
    player.set_direction(now, motion.forward());
  }
  next_grid = now + control_grid_frames;
  tell_state();
  find_beat();
}

void Engine::Core::tell_speed() noexcept {
  EngineEvent event;
  event.frame = now;
  event.kind = EventKind::speed;
  event.speed_kmh = motion.speed_kmh(static_cast<double>(now));
  events.send(event);
  ++speeds_told;
}

std::int64_t Engine::Core::next_change() const noexcept {
  std::int64_t next = std::min(next_grid, (speeds_told * set->sample_rate_hz + 5) / 10);
  if (beat.due) next = std::min(next, beat.frame);
  if (const Command* command = commands.front(); command != nullptr) {
    next = std::min(next, command->frame);
  }
  const std::int64_t voices = player.frames_to_change();
  if (voices < next - now) next = now + voices;
  return std::max(next, now);
}

void Engine::Core::run(std::int64_t frames, float* chuffs, float* keys) noexcept {
  const std::int64_t end = now + frames;
  while (true) {
    player.settle(now);
    take_due();
    if (now == end) return;
    sound_beats();
    if (now == next_grid) {
      reach_grid();
      sound_beats();
    }
    if (now >= (speeds_told * set->sample_rate_hz + 5) / 10) tell_speed();
    const std::int64_t stop = std::min({end, next_change(), now + slice_frames});
    const int step = static_cast<int>(stop - now);
    player.play(chuffs, keys, step);
    if (chuffs != nullptr) {
      chuffs += step;
      keys += step;
    }
    now = stop;
  }
}

Result<std::unique_ptr<Engine>> Engine::create(std::shared_ptr<const CompiledSet> set,
                                               const EngineOptions& options) {
  const auto bad = [](std::string place, std::string detail) {
    return Error{ErrorCode::bad_argument, {}, std::move(place), std::move(detail), {}};
  };
  if (set == nullptr) return bad("set", "there is no compiled set");
  if (options.speed_steps != 14 && options.speed_steps != 28 && options.speed_steps != 128) {
    return bad("speed_steps", "the speed steps are not 14, 28 or 128");
  }
  if (options.voice_limit < 0 || options.voice_limit > most_voices) {
    return bad("voice_limit", "the voices are outside 0 to 256");
  }
  try {
    return std::unique_ptr<Engine>(new Engine(std::make_unique<Core>(std::move(set), options)));
  } catch (const std::bad_alloc&) {
    return Error{ErrorCode::too_large, {}, {}, "no memory for the engine", {}};
  }
}

Engine::Engine(std::unique_ptr<Core> core) : core_(std::move(core)) {}
Engine::~Engine() = default;

bool Engine::push(const Command& command) noexcept {
  if (core_->commands.push(command)) return true;
  core_->commands_lost.fetch_add(1, std::memory_order_relaxed);
  return false;
}

bool Engine::pop(EngineEvent& event) noexcept {
  return core_->events.pop(event);
}

void Engine::render(std::span<float> mix, const StemSpans& stems) noexcept FOURBEAT_NONBLOCKING {
  const FlushDenormals flush;
  if (mix.empty()) {
    core_->run(0, nullptr, nullptr);
    return;
  }
  for (std::size_t done = 0; done < mix.size(); done += slice_frames) {
    const std::size_t frames = std::min<std::size_t>(slice_frames, mix.size() - done);
    float* chuffs = core_->chuff_buffer.data();
    float* keys = core_->key_buffer.data();
    std::fill_n(chuffs, frames, 0.0F);
    std::fill_n(keys, frames, 0.0F);
    core_->run(static_cast<std::int64_t>(frames), chuffs, keys);
    for (std::size_t i = 0; i < frames; ++i)
      mix[done + i] = chuffs[i] + keys[i];
    if (!stems.chuffs.empty())
      std::copy_n(chuffs, frames, stems.chuffs.begin() + static_cast<std::ptrdiff_t>(done));
    if (!stems.keys.empty())
      std::copy_n(keys, frames, stems.keys.begin() + static_cast<std::ptrdiff_t>(done));
  }
}

void Engine::advance(std::int64_t frames) noexcept FOURBEAT_NONBLOCKING {
  const FlushDenormals flush;
  core_->run(frames, nullptr, nullptr);
}

std::int64_t Engine::frame() const noexcept {
  return core_->now;
}
int Engine::voices_peak() const noexcept {
  return core_->player.voices_peak();
}
std::uint64_t Engine::commands_lost() const noexcept {
  return core_->commands_lost.load(std::memory_order_relaxed);
}
std::uint64_t Engine::events_lost() const noexcept {
  return core_->events.lost();
}

}  // namespace fourbeat::drive
