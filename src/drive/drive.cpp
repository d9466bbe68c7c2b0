// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/drive/drive.h"

#include "image.h"
#include "mix_down.h"
#include "refusal.h"

#include "fourbeat/drive/engine.h"
#include "fourbeat/model/members.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <new>
#include <span>
#include <type_traits>
#include <utility>

namespace fourbeat::drive {

namespace {

constexpr double longest_card_s = 4.0 * 3600.0;
constexpr int longest_block_frames = 1 << 20;
constexpr int longest_call_frames = 4096;  // of events that must fit the queue
constexpr std::size_t moves_a_call = 64;   // likewise
constexpr int events_a_use = 9;            // at most, of one move of a key
constexpr std::size_t other_events = 16384;
constexpr int without_limit = 256;

/// One move as a command, range-checked; `place` is the JSON pointer of the move.
Result<Command> command_of(const model::Move& move, int speed_steps, std::int64_t frame,
                           const std::string& place) {
  Command command;
  command.frame = frame;
  return std::visit(
      [&](const auto& what) -> Result<Command> {
        using What = std::decay_t<decltype(what)>;
        if constexpr (std::is_same_v<What, model::MoveThrottle>) {
          const int last = model::last_step(speed_steps);
          if (what.step < 0 || what.step > last) {
            return bad(place + "/throttle_step",
                       fmt::format("throttle step {} is outside 0 to {}", what.step, last));
          }
          command.kind = CommandKind::throttle_step;
          command.value = what.step;
        } else if constexpr (std::is_same_v<What, model::MoveKey>) {
          if (what.key < 0 || what.key > model::highest_key) {
            return bad(place + "/key",
                       fmt::format("key {} is outside 0 to {}", what.key, model::highest_key));
          }
          command.kind = CommandKind::key;
          command.number = what.key;
          command.value = what.on ? 1 : 0;
        } else if constexpr (std::is_same_v<What, model::MoveDirection>) {
          command.kind = CommandKind::direction;
          command.value = what.forward ? 1 : 0;
        } else if constexpr (std::is_same_v<What, model::MoveCv>) {
          if (what.cv < 1 || what.cv > 1024) {
            return bad(place + "/cv", fmt::format("CV {} is outside 1 to 1024", what.cv));
          }
          if (what.value < 0 || what.value > 255) {
            return bad(place + "/value", fmt::format("value {} is outside 0 to 255", what.value));
          }
          command.kind = CommandKind::cv;
          command.number = what.cv;
          command.value = what.value;
        } else if constexpr (std::is_same_v<What, model::MoveLoad>) {
          if (!within(what.load, 0.0, 1.0)) {
            return bad(place + "/load", fmt::format("load {} is outside 0 to 1", what.load));
          }
          command.kind = CommandKind::load;
          command.amount = what.load;
        } else if constexpr (std::is_same_v<What, model::MoveStop>) {
          command.kind = CommandKind::emergency_stop;
        } else if constexpr (std::is_same_v<What, model::MovePower>) {
          command.kind = CommandKind::power;
          command.value = what.on ? 1 : 0;
        } else {
          if (!within(what.gradient_percent, -50.0, 50.0)) {
            return bad(place + "/gradient_percent",
                       fmt::format("gradient {} is outside -50 to 50", what.gradient_percent));
          }
          command.kind = CommandKind::gradient;
          command.amount = what.gradient_percent;
        }
        return command;
      },
      move.what);
}

Result<std::vector<Command>> commands_of(const model::RunCard& card, int rate_hz) {
  if (!within(card.seconds, 0.0, longest_card_s)) {
    return bad("/seconds",
               fmt::format("{} seconds are outside 0 to {}", card.seconds, longest_card_s));
  }
  if (card.speed_steps != 14 && card.speed_steps != 28 && card.speed_steps != 128) {
    return bad("/speed_steps",
               fmt::format("{} speed steps are not 14, 28 or 128", card.speed_steps));
  }
  std::vector<Command> commands;
  double before_s = 0.0;
  for (std::size_t i = 0; i < card.moves.size(); ++i) {
    const model::Move& move = card.moves[i];
    const std::string place = fmt::format("/moves/{}", i);
    if (!within(move.time_s, before_s, 1e9)) {
      return bad(place + "/time_s",
                 fmt::format("time {} s is not at or after the move before it ({} s)", move.time_s,
                             before_s));
    }
    before_s = move.time_s;
    auto command = command_of(move, card.speed_steps, std::llround(move.time_s * rate_hz), place);
    if (!command) return command.error();
    commands.push_back(*command);
  }
  return commands;
}

std::size_t event_room(const CompiledSet& set) {
  std::array<int, model::highest_key + 1> uses{};
  for (const ImageKey& key : set.keys)
    uses[static_cast<std::size_t>(key.number)] += 1;
  const int most = std::max(1, *std::max_element(uses.begin(), uses.end()));
  return other_events + moves_a_call * static_cast<std::size_t>(events_a_use * most + 1);
}

/// The engine fed from a list of commands and drained after every call.
class Feed {
 public:
  Feed(Engine& engine, const std::vector<Command>& commands)
      : engine_(engine), commands_(commands) {}

  /// Makes `frames` frames; `mix` and the stems may be empty: then nothing is rendered.
  template <class Take>
  void run(std::int64_t frames, std::span<float> mix, const StemSpans& stems, const Take& take) {
    const std::int64_t start = engine_.frame();
    std::int64_t done = 0;
    while (done < frames) {
      std::int64_t call = std::min<std::int64_t>(frames - done, longest_call_frames);
      for (std::size_t pushed = 0; next_ < commands_.size(); ++pushed, ++next_) {
        const std::int64_t frame = commands_[next_].frame;
        if (frame >= start + done + call) break;
        if (pushed == moves_a_call) {
          call = frame - (start + done);  // the rest waits for the next call
          break;
        }
        engine_.push(commands_[next_]);
      }
      const auto at = static_cast<std::size_t>(done);
      const auto count = static_cast<std::size_t>(call);
      if (mix.empty()) {
        engine_.advance(call);
      } else {
        engine_.render(mix.subspan(at, count), part_of(stems, at, count));
      }
      done += call;
      EngineEvent event;
      while (engine_.pop(event))
        take(event);
    }
  }

 private:
  Engine& engine_;
  const std::vector<Command>& commands_;
  std::size_t next_ = 0;
};

/// Turns engine events into the log and sums up how long each piece sounded.
class Log {
 public:
  Log(const CompiledSet& set, DriveOutput& output) : set_(set), output_(output) {}

  void take(const EngineEvent& raw) {
    Event event = log_event(set_, raw);
    if (raw.kind == EventKind::beat) count(raw);
    if (raw.kind == EventKind::voice_start) open_[raw.number] = event;
    if (raw.kind == EventKind::voice_end) {
      if (raw.reason == Reason::no_voice || raw.reason == Reason::stolen) crowded_ = true;
      if (raw.number != none) close(raw.number, raw.frame);
    }
    output_.events.push_back(std::move(event));
  }

  /// Ends every voice that still sounds, at the end of the card.
  void finish(std::int64_t frame) {
    while (!open_.empty()) {
      const auto& [voice, started] = *open_.begin();
      Event event;
      event.frame = frame;
      event.kind = EventKind::voice_end;
      event.text = started.text;
      event.reason = "end_of_card";
      event.number = voice;
      output_.events.push_back(std::move(event));
      close(voice, frame);
    }
    for (const auto& [name, frames] : sounding_frames_) {
      output_.sounding_s[name] = static_cast<double>(frames) / set_.sample_rate_hz;
    }
  }

  /// True when a sound lost or never got its voice.
  [[nodiscard]] bool crowded() const { return crowded_; }

 private:
  /// Beats of one position stand a whole number of rounds apart, however uneven the angles.
  void count(const EngineEvent& beat) {
    if (beats_ == 0) {
      first_ = beat;
    } else if (beat.position == first_.position && beat.turns > first_.turns) {
      output_.beats_per_turn = static_cast<double>(beats_) / (beat.turns - first_.turns);
    }
    ++beats_;
  }

  void close(int voice, std::int64_t frame) {
    const auto started = open_.find(voice);
    if (started == open_.end()) return;
    sounding_frames_[started->second.text] += frame - started->second.frame;
    open_.erase(started);
  }

  const CompiledSet& set_;
  DriveOutput& output_;
  std::map<int, Event> open_;  // by voice
  std::map<std::string, std::int64_t> sounding_frames_;
  EngineEvent first_;  // beat
  std::int64_t beats_ = 0;
  bool crowded_ = false;
};

/// The most voices that would sound at once if there were enough.
Result<int> voices_wanted(const std::shared_ptr<const CompiledSet>& set,
                          const std::vector<Command>& commands, const EngineOptions& options,
                          std::int64_t frames, JobControl& job) {
  EngineOptions unlimited = options;
  unlimited.voice_limit = without_limit;
  auto engine = Engine::create(set, unlimited);
  if (!engine) return engine.error();
  Feed feed(**engine, commands);
  while ((*engine)->frame() < frames) {
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    feed.run(std::min<std::int64_t>(set->sample_rate_hz, frames - (*engine)->frame()), {}, {},
             [](const EngineEvent&) {});
  }
  return (*engine)->voices_peak();
}

Result<DriveOutput> drive_unguarded(const std::shared_ptr<const CompiledSet>& set,
                                    const model::RunCard& card, const DriveOptions& options,
                                    JobControl& job) {
  if (set == nullptr) return bad("set", "there is no compiled set");
  if (options.block_frames < 1 || options.block_frames > longest_block_frames) {
    return bad("block_frames", fmt::format("{} frames a block are outside 1 to {}",
                                           options.block_frames, longest_block_frames));
  }
  auto commands = commands_of(card, set->sample_rate_hz);
  if (!commands) return commands.error();
  EngineOptions engine_options;
  engine_options.speed_steps = card.speed_steps;
  engine_options.seed = card.seed;
  engine_options.command_capacity = 2 * moves_a_call;
  engine_options.event_capacity = event_room(*set);
  auto engine = Engine::create(set, engine_options);
  if (!engine) return engine.error();

  DriveOutput output;
  output.sample_rate_hz = set->sample_rate_hz;
  const std::int64_t frames = std::llround(card.seconds * set->sample_rate_hz);
  Result<MixDown> down = MixDown::make(options, frames, output);
  if (!down) return down.error();

  Log log(*set, output);
  Feed feed(**engine, *commands);
  for (std::int64_t second = 0; second < frames; second += set->sample_rate_hz) {
    const std::int64_t end = std::min<std::int64_t>(second + set->sample_rate_hz, frames);
    job.progress(static_cast<double>(second) / static_cast<double>(frames), "driving");
    for (std::int64_t at = second; at < end; at += options.block_frames) {
      if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
      const std::int64_t block = std::min<std::int64_t>(options.block_frames, end - at);
      feed.run(block, down->room(at, block), down->stem_room(at, block),
               [&](const EngineEvent& event) { log.take(event); });
    }
    if (Status taken = down->measure(down->room(second, end - second)); !taken) {
      return taken.error();
    }
  }
  log.finish(frames);
  if ((*engine)->events_lost() != 0 || (*engine)->commands_lost() != 0) {
    return Error{ErrorCode::internal, {}, {}, "the drive lost moves or events", {}};
  }
  down->finish(output);
  output.voices_peak = (*engine)->voices_peak();
  output.voices_wanted_peak = output.voices_peak;
  if (log.crowded()) {
    auto wanted = voices_wanted(set, *commands, engine_options, frames, job);
    if (!wanted) return wanted.error();
    output.voices_wanted_peak = *wanted;
  }
  return output;
}

}  // namespace

Event log_event(const CompiledSet& set, const EngineEvent& raw) {
  Event event;
  event.frame = raw.frame;
  event.kind = raw.kind;
  event.speed_kmh = raw.speed_kmh;
  event.turns = raw.turns;
  event.effort = raw.effort;
  event.position = raw.position;
  event.number = raw.number;
  event.value = raw.value;
  event.reason = reason_name(raw.reason);
  if (raw.row != none) event.row = set.rows[static_cast<std::size_t>(raw.row)].id;
  event.pressure_bar = raw.pressure_bar;
  event.fire = raw.fire;
  event.water = raw.water;
  if (raw.kind == EventKind::state) event.text = model::word_of(raw.state);
  if (raw.kind == EventKind::own_state) {
    event.text = set.own_states[static_cast<std::size_t>(raw.number)].name;
  }
  if (raw.kind == EventKind::duty) event.text = duty_name(static_cast<DutyEvent>(raw.number));
  if (raw.piece != none) event.text = set.piece_names[static_cast<std::size_t>(raw.piece)];
  return event;
}

Result<DriveOutput> drive(const std::shared_ptr<const CompiledSet>& set, const model::RunCard& card,
                          const DriveOptions& options, JobControl& job) {
  try {
    return drive_unguarded(set, card, options, job);
  } catch (const std::bad_alloc&) {
    return Error{ErrorCode::too_large, {}, {}, "no memory for the samples of this card", {}};
  }
}

}  // namespace fourbeat::drive
