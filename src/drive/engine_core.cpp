// SPDX-License-Identifier: GPL-3.0-or-later
#include "engine_core.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/drive/row_choice.h"
#include "fourbeat/model/cv_targets.h"
#include "fourbeat/model/cv_values.h"
#include "fourbeat/model/run_card.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::drive {

namespace {

constexpr std::int64_t slice_frames = 1024;
constexpr double edge_turns = 1e-3;
constexpr double slip_after_turns = 0.25;  // of the start that it belongs to; ours
constexpr double pull_grain = 128.0;       // so that steam does not plan anew at every grid point

bool in_range(const Command& command, int last_step) noexcept {
  switch (command.kind) {
    case CommandKind::throttle_step:
      return command.value >= 0 && command.value <= last_step;
    case CommandKind::key:
      return command.number >= 0 && command.number <= model::highest_key;
    case CommandKind::direction:
    case CommandKind::emergency_stop:
    case CommandKind::power:
      return true;
    case CommandKind::cv:
      return command.number >= 1 && command.number <= CvBank::highest_cv && command.value >= 0 &&
             command.value <= 255;
    case CommandKind::load:
      return command.amount >= 0.0 && command.amount <= 1.0;
    case CommandKind::gradient:
      return command.amount >= -50.0 && command.amount <= 50.0;
  }
  return false;
}

}  // namespace

Engine::Core::Past::Past(int sample_rate_hz)
    : ring_(2 + static_cast<std::size_t>(model::range_of(model::CvTarget::row_delay).high *
                                         sample_rate_hz / control_grid_frames)) {}

void Engine::Core::Past::keep(double speed_kmh, model::Effort effort) noexcept {
  ring_[next_] = {speed_kmh, effort};
  next_ = (next_ + 1) % ring_.size();
}

const Engine::Core::Past::Entry& Engine::Core::Past::back(std::size_t grid_points) const noexcept {
  const std::size_t size = ring_.size();
  return ring_[(next_ + 2 * size - 1 - std::min(grid_points, size - 1)) % size];
}

Engine::Core::Core(std::shared_ptr<const CompiledSet> compiled, const EngineOptions& options)
    : set(std::move(compiled)),
      commands(options.command_capacity),
      events(options.event_capacity),
      speed_steps_(options.speed_steps),
      last_step_(model::last_step(options.speed_steps)),
      cvs_(set->cvs),
      tuning_(*set),
      motion_(set->engine, set->sample_rate_hz, options.speed_steps, set->driving.speed_curve),
      wheel_(motion_),
      beats_(*set, wheel_),
      effort_rule_(set->engine.top_speed_kmh, set->driving.effort_hold_s, set->sample_rate_hz),
      states_(set->driving.state_hold_s, set->sample_rate_hz),
      own_states_(set->own_states.size(), set->sample_rate_hz),
      player_(*set, options.voice_limit == 0 ? set->voices : options.voice_limit, events),
      keys_(*set, events),
      triggers_(*set, options.seed),
      layers_(*set, wheel_),
      slips_(options.seed ^ 0x536C6970U),
      past_(set->sample_rate_hz),
      sound_levels_(set->sounds, 1.0F) {
  was_awake_ = keys_.awake();
  told_awake_ = was_awake_;
  slept_ = -frames_of(set->driving.sleeps_after_s) - 1;
  if (set->duties) steam_.emplace(*set->duties);
  controls_.cvs = momentum_cvs(cvs_);
  face();
  set_curves();
  set_sound_levels();
  whole_.to = static_cast<float>(gain_of_db(tuning_.set_gain_db));
}

// Commands.

void Engine::Core::send(EventKind kind, int number, int value) noexcept {
  EngineEvent event;
  event.frame = now;
  event.kind = kind;
  event.number = number;
  event.value = value;
  events.send(event);
}

KeyBoard::Scene Engine::Core::key_scene() const noexcept {
  return {now, motion_.speed_kmh(static_cast<double>(now)), states_.state(), own_states_.in_force(),
          audible()};
}

bool Engine::Core::audible() const noexcept {
  if (!powered_ && now - power_lost_ >= frames_of(set->driving.power_reserve_s)) return false;
  return !cut_ && awake();
}

bool Engine::Core::awake() const noexcept {
  return keys_.awake() || now - slept_ < frames_of(set->driving.sleeps_after_s);
}

void Engine::Core::take_due() noexcept {
  for (const Command* command = commands.front(); command != nullptr && command->frame <= now;
       command = commands.front()) {
    take(*command);
    commands.pop();
  }
}

void Engine::Core::take(const Command& command) noexcept {
  if (!in_range(command, last_step_)) {
    commands_lost.fetch_add(1, std::memory_order_relaxed);
    return;
  }
  switch (command.kind) {
    case CommandKind::throttle_step:
      controls_.throttle_step = command.value;
      stopped_ = false;
      break;
    case CommandKind::key:
      send(EventKind::key, command.number, command.value != 0 ? 1 : 0);
      keys_.set(key_scene(), command.number, command.value != 0, cvs_, tuning_, player_);
      cvs_changed();  // a key can switch an option
      break;
    case CommandKind::direction:
      asked_forward_ = command.value != 0;
      face();
      break;
    case CommandKind::cv:
      send(EventKind::cv, command.number, command.value);
      cvs_.set(command.number, command.value);
      tuning_.take(command.number, command.value);
      curves_changed_ = curves_changed_ || shapes_curve(command.number);
      cvs_changed();
      break;
    case CommandKind::load:
      controls_.load = command.amount;
      break;
    case CommandKind::gradient:
      controls_.gradient_percent = command.amount;
      break;
    case CommandKind::emergency_stop:
      stopped_ = true;
      controls_.throttle_step = 0;
      break;
    case CommandKind::power:
      set_power(command.value != 0);
      break;
  }
}

void Engine::Core::cvs_changed() noexcept {
  controls_.cvs = momentum_cvs(cvs_);
  face();
  set_sound_levels();
}

void Engine::Core::set_power(bool on) noexcept {
  if (on == powered_) return;
  powered_ = on;
  if (on) {
    cut_ = false;
  } else {
    power_lost_ = now;
  }
  send(EventKind::power, 0, on ? 1 : 0);
}

/// CV29 can turn round what the driver calls forward.
void Engine::Core::face() noexcept {
  const bool turned =
      (cvs_.get(model::basic_settings_cv, 0) & model::cv29::reversed_direction) != 0;
  controls_.forward = asked_forward_ != turned;
}

void Engine::Core::set_curves() noexcept {
  motion_.set_curves(throttle_curve(cvs_, speed_steps_, true),
                     throttle_curve(cvs_, speed_steps_, false));
  curves_changed_ = false;
}

void Engine::Core::set_sound_levels() noexcept {
  for (std::size_t i = 0; i < sound_levels_.size(); ++i)
    sound_levels_[i] = static_cast<float>(gain_of_db(tuning_.sound_gain_db[i]));
  chuff_level_ = static_cast<float>(gain_of_db(tuning_.chuff_gain_db));
}

// The control grid.

void Engine::Core::tell(model::TriggerEvent event) noexcept {
  triggers_.tell(event, scene_, tuning_, cvs_);
}

void Engine::Core::run_steam(double speed_kmh) noexcept {
  controls_.pull = 1.0;
  steam_events_ = {};
  if (!steam_) return;
  steam_->set_on(tuning_.duties_on);
  steam_->set_pace(tuning_.duty_pace);
  steam_->feed(tasks_.feeds);
  for (int i = 0; i < tasks_.charges; ++i)
    steam_->fire();
  const Draw draw{std::min(1.0, speed_kmh / set->engine.top_speed_kmh), effort_, speed_kmh == 0.0};
  const double step_s = static_cast<double>(control_grid_frames) / set->sample_rate_hz;
  steam_events_ = steam_->advance(step_s, draw);
  controls_.pull = std::ceil(steam_->pull() * pull_grain) / pull_grain;
}

void Engine::Core::tell_steam() noexcept {
  const auto report = [&](bool came, DutyEvent duty, model::TriggerEvent event) {
    if (!came) return;
    send(EventKind::duty, static_cast<int>(duty), 1);
    tell(event);
  };
  report(steam_events_.lifts, DutyEvent::blows_off, model::TriggerEvent::blows_off);
  report(steam_events_.reseats, DutyEvent::reseats, model::TriggerEvent::reseats);
  report(steam_events_.primes, DutyEvent::primes, model::TriggerEvent::primes);
  report(steam_events_.fire_dropped, DutyEvent::fire_dropped, model::TriggerEvent::fire_dropped);
  if (steam_events_.recovered) {
    send(EventKind::duty, static_cast<int>(DutyEvent::recovered), 1);
  }
  if (!steam_ || !steam_->on()) return;
  if (now < gauges_told_ * set->sample_rate_hz) return;
  gauges_told_ = now / set->sample_rate_hz + 1;
  EngineEvent event;
  event.frame = now;
  event.kind = EventKind::gauges;
  event.pressure_bar = steam_->pressure_bar();
  event.fire = steam_->fire_share();
  event.water = steam_->water();
  events.send(event);
}

void Engine::Core::ask_keys() noexcept {
  tasks_ = keys_.tasks(now);
  controls_.brake = tasks_.brake;
  controls_.momentum = tasks_.momentum;
  controls_.full_brake_s = tuning_.full_brake_s;
  controls_.coasting_factor = set->driving.coasts_until_braked ? tuning_.coasting_factor : 1.0;
  controls_.at_once = stopped_ || !powered_;
}

void Engine::Core::judge(double speed_kmh) noexcept {
  Controls wish = controls_;
  wish.held = false;
  const double goal_kmh = motion_.target_kmh(wish, speed_kmh);
  const model::Effort before = effort_;
  effort_ = effort_rule_.update(
      {now, speed_kmh, goal_kmh, controls_.load, controls_.gradient_percent, tasks_.effort});
  if (effort_ != before) {
    EngineEvent event;
    event.frame = now;
    event.kind = EventKind::effort;
    event.effort = effort_;
    events.send(event);
  }
  past_.keep(speed_kmh, effort_);
  const double turns = motion_.turns(static_cast<double>(now));
  if (speed_kmh == 0.0) {
    rest_turns_ = turns;
    beats_.rest();
    player_.unfuse(now);  // no beat comes that would end it
  }
  Situation& situation = scene_.now;
  situation.frame = now;
  situation.speed_kmh = speed_kmh;
  situation.goal_kmh = goal_kmh;
  situation.turns_since_rest = turns - rest_turns_;
  situation.effort = effort_;
  situation.braked = controls_.brake > 0.0;
  situation.awake = awake();
  situation.powered = powered_;
  scene_.state = states_.update(situation);
  scene_.own_states = own_states_.update(tuning_.states, situation, scene_.state);
  scene_.audible = !cut_ && awake();  // without power beds play on, and fade with everything
}

void Engine::Core::sleep_or_wake() noexcept {
  if (keys_.awake() == was_awake_) return;
  was_awake_ = keys_.awake();
  if (!was_awake_) slept_ = now;
}

void Engine::Core::tell_moves(double speed_kmh) noexcept {
  using model::TriggerEvent;
  if (told_awake_ != was_awake_)
    tell(was_awake_ ? TriggerEvent::sound_on : TriggerEvent::sound_off);
  told_awake_ = was_awake_;
  if (told_powered_ != powered_) tell(powered_ ? TriggerEvent::power_on : TriggerEvent::power_off);
  told_powered_ = powered_;
  const bool moving = speed_kmh > 0.0;
  const bool leaving = !moving && scene_.now.goal_kmh > 0.0 && powered_;
  if (leaving && !was_leaving_ && !was_moving_) {
    tell(TriggerEvent::leaving_rest);
    maybe_slip();
  }
  if (was_moving_ && !moving) tell(TriggerEvent::at_rest);
  const bool steam_on =
      (moving || leaving) && scene_.now.goal_kmh > 0.0 && effort_ != model::Effort::drifting;
  if (steam_on && !steam_on_) tell(TriggerEvent::regulator_opened);
  if (!steam_on && steam_on_ && moving) tell(TriggerEvent::regulator_closed);
  steam_on_ = steam_on;
  was_leaving_ = leaving;
  was_moving_ = moving;
}

void Engine::Core::maybe_slip() noexcept {
  const auto& slip = set->driving.slip;
  if (!slip || controls_.load < set->driving.heavy_start_load) return;
  if (slips_.uniform() < slip->chance) slip_at_turns_ = rest_turns_ + slip_after_turns;
}

void Engine::Core::run_slip(double speed_kmh) noexcept {
  double strength = tasks_.slip;
  if (slip_at_turns_ && speed_kmh > 0.0 &&
      scene_.now.turns_since_rest + rest_turns_ >= *slip_at_turns_) {
    strength = 1.0;
    slip_at_turns_.reset();
  }
  if (speed_kmh == 0.0 && !was_leaving_) slip_at_turns_.reset();
  const bool slipping = wheel_.slip.active(now);
  if (slipping != was_slipping_) {
    was_slipping_ = slipping;
    if (!slipping) send(EventKind::slip, 0, 0);
  }
  if (strength <= 0.0 || slipping || speed_kmh == 0.0) return;
  const model::Slip slip = set->driving.slip.value_or(model::Slip{});
  const double rate = set->sample_rate_hz;
  wheel_.slip.start(now, strength * slip.wheel_kmh * motion_.turns_per_frame_kmh(),
                    slip.rises_s * rate, slip.lasts_s * rate, slip.recovers_s * rate);
  was_slipping_ = true;
  send(EventKind::slip, 0, 1);
  tell(model::TriggerEvent::slips);
}

void Engine::Core::steer(double speed_kmh) noexcept {
  const bool held = triggers_.holds_motion(now, player_);
  if (held != controls_.held) send(EventKind::hold, 0, held ? 1 : 0);
  controls_.held = held;
  const bool turns_now = controls_.forward != motion_.forward() && speed_kmh == 0.0;
  if (curves_changed_) {
    set_curves();
    planned_ = false;
  }
  if (planned_ && controls_ == in_force_ && !turns_now) return;
  motion_.plan(now, controls_);
  in_force_ = controls_;
  planned_ = true;
  if (motion_.forward() != faced_forward_) {
    faced_forward_ = motion_.forward();
    tell(model::TriggerEvent::reversing);
  }
  keys_.face(key_scene(), motion_.forward(), cvs_, player_);
}

void Engine::Core::set_gains() noexcept {
  for (std::size_t i = 0; i < set->uses.size(); ++i) {
    const ImageUse& use = set->uses[i];
    player_.lead(static_cast<int>(i),
                 sound_levels_[static_cast<std::size_t>(use.sound)] * layers_.level(use));
  }
  player_.lead(player_.chuff_fader(), chuff_level_);

  const double rate = set->sample_rate_hz;
  const auto step = static_cast<float>(control_grid_frames / (tasks_.silence_fade_s * rate));
  silence_ = std::clamp(silence_ + (tasks_.silent ? -step : step), 0.0F, 1.0F);
  double power = 1.0;
  if (!powered_) {
    const double dark_s = static_cast<double>(now - power_lost_) / rate;
    power = 1.0 - std::clamp((dark_s - set->driving.power_reserve_s) / set->driving.power_fade_s,
                             0.0, 1.0);
  }
  const double asked = gain_of_db(tuning_.set_gain_db - tasks_.softer_db) * power;
  whole_.from = whole_.to;
  whole_.to = next_level(whole_.to, static_cast<float>(asked) * silence_);
  if (power > 0.0 || whole_.from > 0.0F || cut_) return;
  player_.cut(now);
  triggers_.forget();
  cut_ = true;
}

void Engine::Core::tell_states() noexcept {
  if (!state_told_ || told_state_ != scene_.state) {
    told_state_ = scene_.state;
    state_told_ = true;
    EngineEvent event;
    event.frame = now;
    event.kind = EventKind::state;
    event.state = scene_.state;
    events.send(event);
  }
  std::uint64_t changed = told_own_states_ ^ scene_.own_states;
  told_own_states_ = scene_.own_states;
  for (int i = 0; changed != 0; ++i, changed >>= 1U) {
    if ((changed & 1U) == 0) continue;
    const bool on = ((scene_.own_states >> static_cast<unsigned>(i)) & 1U) != 0;
    send(EventKind::own_state, i, on ? 1 : 0);
  }
}

void Engine::Core::reach_grid() noexcept {
  const double speed_kmh = motion_.speed_kmh(static_cast<double>(now));
  next_grid_ = now + control_grid_frames;
  sleep_or_wake();
  ask_keys();
  run_steam(speed_kmh);
  judge(speed_kmh);
  tell_moves(speed_kmh);
  tell_steam();
  triggers_.update(scene_, tuning_, cvs_);
  triggers_.act(now, audible(), player_);
  steer(speed_kmh);
  run_slip(speed_kmh);
  beats_.set_error(tuning_.sync_error_percent, now);
  layers_.update(scene_, tuning_, cvs_, player_);
  set_gains();
  tell_states();
  grid_ = now;
  beat_ = beats_.next(grid_);
}

// Between grid points.

int Engine::Core::row_of_beat() const noexcept {
  // A beat's own frame is rounded: one at the edge is beyond it.
  const double turns = motion_.turns(static_cast<double>(now)) - rest_turns_ + edge_turns;
  model::Condition condition =
      condition_of(turns, controls_.load, tuning_.cocks_open_turns, set->driving.heavy_start_load);
  if (wheel_.slip.active(now)) condition = model::Condition::slip;
  double speed_kmh = beat_.speed_kmh;
  model::Effort effort = effort_;
  if (tuning_.row_delay_s > 0.0) {
    const double points = tuning_.row_delay_s * set->sample_rate_hz / control_grid_frames;
    const Past::Entry& past = past_.back(static_cast<std::size_t>(std::lround(points)));
    speed_kmh = past.speed_kmh;
    effort = past.effort;
  }
  const int row = choose_row(set->bands, speed_kmh, effort, condition);
  if (row == none || !set->driving.drifting_without_chuffs || effort != model::Effort::drifting) {
    return row;
  }
  const RowBand& band = set->bands[static_cast<std::size_t>(row)];
  const bool serves =
      band.effort == effort && speed_kmh >= band.from_kmh && speed_kmh < band.to_kmh;
  return serves ? row : none;
}

void Engine::Core::sound_beats() noexcept {
  while (beat_.due && beat_.frame <= now) {
    EngineEvent event;
    event.frame = now;
    event.kind = EventKind::beat;
    event.speed_kmh = beat_.speed_kmh;
    event.effort = effort_;
    event.position = static_cast<int>(beats_.position());
    event.turns = beat_.turns;
    event.row = row_of_beat();
    events.send(event);
    play_row(audible() ? event.row : none);
    beats_.skip();
    beat_ = beats_.next(grid_);
  }
}

void Engine::Core::play_row(int index) noexcept {
  if (index == none) {
    player_.unfuse(now);
    return;
  }
  const ImageRow& row = set->rows[static_cast<std::size_t>(index)];
  if (row.fused.clip != none) {
    player_.fuse(now, row.fused);
    return;
  }
  player_.unfuse(now);
  const ImagePart* chuff = row.chuff(beats_.turn(), beats_.position());
  if (chuff != nullptr) player_.chuff(now, *chuff);
}

void Engine::Core::tell_speed() noexcept {
  EngineEvent event;
  event.frame = now;
  event.kind = EventKind::speed;
  event.speed_kmh = motion_.speed_kmh(static_cast<double>(now));
  events.send(event);
  ++speeds_told_;
}

std::int64_t Engine::Core::next_change() const noexcept {
  std::int64_t next = std::min(next_grid_, (speeds_told_ * set->sample_rate_hz + 5) / 10);
  if (beat_.due) next = std::min(next, beat_.frame);
  if (const Command* command = commands.front(); command != nullptr) {
    next = std::min(next, command->frame);
  }
  next = std::min({next, layers_.next_frame(), triggers_.next_frame()});
  const std::int64_t voices = player_.frames_to_change();
  if (voices < next - now) next = now + voices;
  return std::max(next, now);
}

void Engine::Core::fade_whole(const StemBuffers& stems, GridPart part) const noexcept {
  if (whole_.from == 1.0F && whole_.to == 1.0F) return;
  const float slope = (whole_.to - whole_.from) / static_cast<float>(control_grid_frames);
  for (float* stem : stems) {
    for (int i = 0; stem != nullptr && i < part.frames; ++i)
      stem[i] *= whole_.from + slope * static_cast<float>(part.start + i);
  }
}

void Engine::Core::run(std::int64_t frames, const StemBuffers& stems) noexcept {
  const std::int64_t end = now + frames;
  StemBuffers at = stems;
  while (true) {
    player_.settle(now);
    take_due();
    if (now == end) return;
    triggers_.act(now, audible(), player_);
    sound_beats();
    layers_.sound(now, player_);
    if (now == next_grid_) {
      reach_grid();
      sound_beats();
      layers_.sound(now, player_);
    }
    if (now >= (speeds_told_ * set->sample_rate_hz + 5) / 10) tell_speed();
    const std::int64_t stop = std::min({end, next_change(), now + slice_frames});
    const GridPart part{static_cast<int>(now - grid_), static_cast<int>(stop - now)};
    player_.play(at, part);
    fade_whole(at, part);
    for (float*& stem : at) {
      if (stem != nullptr) stem += part.frames;
    }
    now = stop;
  }
}

}  // namespace fourbeat::drive
