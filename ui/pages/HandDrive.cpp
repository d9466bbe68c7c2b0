// SPDX-License-Identifier: GPL-3.0-or-later
#include "HandDrive.h"

#include "fourbeat/work/produce.h"

#include <algorithm>
#include <map>
#include <utility>

namespace fourbeat::ui {

namespace {

using drive::Command;
using drive::CommandKind;

constexpr int tick_ms = 30;
/// A card may last so long: the recording ends by itself.
constexpr double longest_card_s = 4.0 * 3600.0 - 1.0;
const QString playKey = QStringLiteral("drive by hand");

model::Move moveOf(const Command& command, double time_s) {
  switch (command.kind) {
    case CommandKind::throttle_step:
      return {time_s, model::MoveThrottle{command.value}};
    case CommandKind::key:
      return {time_s, model::MoveKey{command.number, command.value != 0}};
    case CommandKind::direction:
      return {time_s, model::MoveDirection{command.value != 0}};
    case CommandKind::cv:
      return {time_s, model::MoveCv{command.number, command.value}};
    case CommandKind::load:
      return {time_s, model::MoveLoad{command.amount}};
    case CommandKind::gradient:
      return {time_s, model::MoveGradient{command.amount}};
    case CommandKind::emergency_stop:
      return {time_s, model::MoveStop{}};
    case CommandKind::power:
      break;
  }
  return {time_s, model::MovePower{command.value != 0}};
}

/// The last of each control that was moved, in the order of the controls: how all stands.
std::vector<Command> standing(const std::vector<Command>& before) {
  std::map<std::pair<CommandKind, int>, Command> last;
  for (Command command : before) {
    if (command.kind == CommandKind::emergency_stop) {
      // It shuts the regulator, which the next move of it opens again.
      last.erase({CommandKind::throttle_step, 0});
    } else if (command.kind == CommandKind::throttle_step) {
      last.erase({CommandKind::emergency_stop, 0});
    }
    last[{command.kind, command.number}] = command;
  }
  std::vector<Command> all;
  for (const auto& [control, command] : last) {
    // A key that is off is as it was at the start.
    if (command.kind != CommandKind::key || command.value != 0) all.push_back(command);
  }
  return all;
}

}  // namespace

model::RunCard cardOf(const std::vector<Command>& obeyed, std::int64_t from, std::int64_t to,
                      int sample_rate_hz) {
  model::RunCard card;
  card.seed = LiveDrive::seed;
  card.speed_steps = LiveDrive::speed_steps;
  card.seconds = static_cast<double>(std::max<std::int64_t>(1, to - from)) / sample_rate_hz;
  const auto first =
      std::partition_point(obeyed.begin(), obeyed.end(),
                           [from](const Command& command) { return command.frame < from; });
  for (const Command& command : standing({obeyed.begin(), first}))
    card.moves.push_back(moveOf(command, 0.0));
  for (auto command = first; command != obeyed.end() && command->frame < to; ++command)
    card.moves.push_back(
        moveOf(*command, static_cast<double>(command->frame - from) / sample_rate_hz));
  return card;
}

HandDrive::HandDrive(Workspace& workspace, QObject* parent)
    : QObject(parent), workspace_(workspace) {
  play = [this](const PlayRequest& request) {
    own_play_ = true;
    workspace_.transport().play(request);
    return isPlaying();
  };
  tick_.setInterval(tick_ms);
  connect(&tick_, &QTimer::timeout, this, &HandDrive::follow);
  connect(&workspace_.transport(), &Transport::stateChanged, this, &HandDrive::heedTransport);
}

HandDrive::~HandDrive() {
  // Silently: whoever listened is being taken down.
  const QSignalBlocker quiet(this);
  disconnect(&workspace_.transport(), nullptr, this, nullptr);
  if (live_ != nullptr && isPlaying()) workspace_.transport().stop();
}

bool HandDrive::isPlaying() const {
  const Transport& transport = workspace_.transport();
  return transport.isPlaying() && transport.request().key == playKey;
}

void HandDrive::begin() {
  if (preparing_ || isDriving()) return;
  preparing_ = true;
  Q_EMIT changed();
  const auto project = workspace_.document().snapshot();
  workspace_.jobs().run<Ready>(
      tr("Raising steam: the set is fitted"), this,
      [project, folder = workspace_.document().folder()](JobControl& job) -> Result<Ready> {
        const Result<work::FittedSet> fitted = work::fit_project(*project, folder, "", job);
        if (!fitted) return fitted.error();
        auto compiled = work::compile_fitted(*project, *fitted);
        if (!compiled) return compiled.error();
        auto live = LiveDrive::create(std::move(*compiled), fitted->profile.output_rate_hz);
        if (!live) return live.error();
        return Ready{std::move(*live), fitted->profile.voices};
      },
      [this, project](Result<Ready> ready) {
        preparing_ = false;
        if (ready) {
          start(*project, *ready);
        } else {
          workspace_.tell(ready.error());
        }
        Q_EMIT changed();
      },
      QStringLiteral("drive by hand"));
}

void HandDrive::start(const model::Project& project, const Ready& ready) {
  PlayRequest request;
  request.source = LiveSource{ready.live, static_cast<double>(ready.live->sampleRateHz())};
  request.title = tr("Driving by hand");
  request.key = playKey;
  own_play_ = false;
  if (!play(request)) return;  // the transport has told why
  live_ = ready.live;
  obeyed_.clear();
  recorded_from_ = 0;
  tick_.start();
  Q_EMIT begun(project, ready.voices);
}

void HandDrive::heedTransport() {
  if (live_ != nullptr && own_play_ && !isPlaying()) end();
}

void HandDrive::end() {
  if (live_ == nullptr) return;
  tick_.stop();
  follow();
  setRecording(false);
  const std::shared_ptr<LiveDrive> last = std::exchange(live_, nullptr);
  if (own_play_ && isPlaying()) workspace_.transport().stop();
  if (last->lost() > 0) {
    workspace_.tell(tr("The machine was too busy: %1 commands or events of the drive were lost")
                        .arg(last->lost()));
  }
  Q_EMIT ended();
  Q_EMIT changed();
}

void HandDrive::give(const Command& command) {
  if (live_ != nullptr && !live_->give(command))
    workspace_.tell(tr("The sound device does not answer; choose another beside the volume"));
}

void HandDrive::takeObeyed() {
  const std::vector<Command> obeyed = live_->takeObeyed();
  if (obeyed.empty()) return;
  obeyed_.insert(obeyed_.end(), obeyed.begin(), obeyed.end());
  std::vector<model::Move> moves;
  moves.reserve(obeyed.size());
  for (const Command& command : obeyed)
    moves.push_back(moveOf(command, static_cast<double>(command.frame) / live_->sampleRateHz()));
  Q_EMIT moved(moves);
}

void HandDrive::follow() {
  if (live_ == nullptr) return;
  takeObeyed();
  const std::vector<drive::Event> events = live_->takeEvents();
  if (!events.empty()) Q_EMIT happened(events);
  const std::int64_t frames = live_->frames();
  Q_EMIT clock(static_cast<double>(frames) / live_->sampleRateHz());
  const double recorded_s = static_cast<double>(frames - recorded_from_) / live_->sampleRateHz();
  if (recording_ && recorded_s > longest_card_s) setRecording(false);
}

void HandDrive::setRecording(bool recording) {
  if (recording == recording_) return;
  recording_ = recording;
  if (live_ != nullptr) {
    const std::int64_t now = live_->frames();
    if (recording) {
      recorded_from_ = now;
    } else {
      takeObeyed();
      Q_EMIT recorded(cardOf(obeyed_, recorded_from_, now, live_->sampleRateHz()));
    }
  }
  Q_EMIT changed();
}

}  // namespace fourbeat::ui
