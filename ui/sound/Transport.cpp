// SPDX-License-Identifier: GPL-3.0-or-later
#include "Transport.h"

#include "AudioOutput.h"
#include "Player.h"
#include "Wording.h"

#include "fourbeat/base/decibels.h"

#include <QGuiApplication>
#include <QTimer>
#include <algorithm>
#include <cmath>
#include <deque>

namespace fourbeat::ui {

namespace {

constexpr int frame_ms = 16;
/// A device that was lost is waited for so long before playing stops.
constexpr int patience_ms = 3000;
/// The device is let go of when the program has been in the background and silent so long.
constexpr int rest_after_ms = 30'000;
constexpr double quietest_db = -60.0;

/// What a request plays, held to what its source has; empty where there is nothing.
FrameRange rangeOf(const PlayRequest& request) {
  std::int64_t frames = 0;
  if (const auto* clip = std::get_if<ClipSource>(&request.source)) {
    if (clip->clip == nullptr || !(clip->clip->sample_rate_hz > 0.0)) return {};
    frames = static_cast<std::int64_t>(clip->clip->samples.size());
  } else if (const auto* live = std::get_if<LiveSource>(&request.source)) {
    if (live->sound == nullptr || !(live->sample_rate_hz > 0.0)) return {};
    frames = endless_frames;
  } else {
    const auto& info = std::get<TakeSource>(request.source).info;
    if (info.channels < 1 || info.sample_rate_hz < 1) return {};
    frames = info.frames.value();
  }
  const FrameRange whole = frame_range(0, frames);
  if (request.range.empty()) return whole;
  return {std::max(request.range.start, whole.start), std::min(request.range.end, whole.end)};
}

FrameIndex held(FrameIndex frame, const FrameRange& range) {
  if (range.empty()) return range.start;
  return std::clamp(frame, range.start, range.end - FrameCount(1));
}

/// Where a request begins.
FrameIndex startOf(const PlayRequest& request, const FrameRange& range) {
  const bool inside = request.from >= range.start && request.from < range.end - FrameCount(1);
  return inside ? request.from : range.start;
}

}  // namespace

struct Transport::State {
  Player player;
  std::unique_ptr<AudioOutput> output;
  QTimer tick;
  QTimer patience;
  QTimer rest;
  PlayRequest request;
  FrameRange range;
  std::deque<PlayerReport> reports;  ///< of the voice that plays
  std::uint64_t voice = 0;
  FrameIndex position;
  bool playing = false;
  bool repeat = false;
  bool half = false;
  bool let_go = false;
};

Transport::Transport(QObject* parent) : QObject(parent), state_(std::make_unique<State>()) {
  State& s = *state_;
  s.output = std::make_unique<AudioOutput>(s.player);
  s.tick.setTimerType(Qt::PreciseTimer);
  s.tick.setInterval(frame_ms);
  connect(&s.tick, &QTimer::timeout, this, &Transport::follow);
  s.patience.setSingleShot(true);
  s.patience.setInterval(patience_ms);
  connect(&s.patience, &QTimer::timeout, this, [this] {
    halt();
    Q_EMIT trouble(tr("The sound device is gone, and there is no other; playing stopped"));
  });
  s.rest.setSingleShot(true);
  s.rest.setInterval(rest_after_ms);
  connect(&s.rest, &QTimer::timeout, this, [this] { rest(); });
  AudioOutput* const output = s.output.get();
  connect(output, &AudioOutput::devicesChanged, this, &Transport::devicesChanged);
  connect(output, &AudioOutput::opened, this, [this] { state_->patience.stop(); });
  connect(output, &AudioOutput::lost, this, [this] {
    if (isPlaying()) state_->patience.start();
  });
  connect(output, &AudioOutput::trouble, this, [this](const QString& line) {
    if (!isPlaying()) return;  // nobody waits for sound: tried again with the next press
    halt();
    Q_EMIT trouble(line);
  });
  if (auto* const application = qobject_cast<QGuiApplication*>(QCoreApplication::instance())) {
    connect(application, &QGuiApplication::applicationStateChanged, this,
            &Transport::heedApplication);
  }
}

Transport::~Transport() {
  state_->output.reset();  // rendering ends before the player goes
}

void Transport::heedApplication(Qt::ApplicationState state) {
  if (state == Qt::ApplicationActive) {
    state_->rest.stop();
    state_->output->open();
  } else {
    state_->rest.start();
  }
}

void Transport::rest() {
  if (isPlaying()) {
    state_->rest.start();
  } else {
    state_->output->close();
  }
}

bool Transport::begin(FrameIndex from) {
  State& s = *state_;
  const bool repeat = repeats() || s.request.repeat;
  s.reports.clear();
  if (const auto* clip = std::get_if<ClipSource>(&s.request.source)) {
    s.voice = s.player.play(clip->clip, s.range, from, repeat, clip->hold && !s.let_go);
  } else if (const auto* live = std::get_if<LiveSource>(&s.request.source)) {
    s.voice = s.player.playLive(live->sound, live->sample_rate_hz);
  } else {
    const auto& take = std::get<TakeSource>(s.request.source);
    s.voice = s.player.playTake(take.path, take.info.sample_rate_hz, take.info.channels, s.range,
                                from, repeat, take.gains);
  }
  s.position = from;
  return s.voice != 0;
}

void Transport::play(const PlayRequest& request) {
  State& s = *state_;
  s.request = request;
  s.range = rangeOf(request);
  s.position = startOf(request, s.range);
  s.let_go = false;
  QString line;
  if (s.range.empty()) {
    line = tr("There is nothing to play in “%1”").arg(request.title);
  } else if (!s.output->ready()) {
    line = tr("No sound device was found: connect one, or choose one beside the volume");
  } else if (!begin(s.position)) {
    line = tr("The sound device does not answer; choose another beside the volume");
  }
  if (!line.isEmpty()) {
    if (s.playing) s.player.stop();
    s.playing = false;
    s.tick.stop();
    Q_EMIT stateChanged();
    Q_EMIT positionChanged(s.position);
    Q_EMIT trouble(line);
    return;
  }
  s.playing = true;
  s.tick.start();
  const auto* const application = qobject_cast<QGuiApplication*>(QCoreApplication::instance());
  if (application != nullptr && application->applicationState() != Qt::ApplicationActive)
    s.rest.start();
  Q_EMIT stateChanged();
  Q_EMIT positionChanged(s.position);
}

void Transport::halt() {
  State& s = *state_;
  s.patience.stop();
  if (!s.playing) return;
  s.playing = false;
  s.player.stop();
  Q_EMIT stateChanged();
  Q_EMIT positionChanged(s.position);
  Q_EMIT levelChanged(0.0F);
}

void Transport::stop() {
  if (!state_->playing) return;
  follow();
  halt();
}

void Transport::follow() {
  State& s = *state_;
  s.player.collect();
  PlayerReport report;
  while (s.player.next(report)) {
    if (report.voice == s.voice) s.reports.push_back(report);
  }
  if (!s.playing) {
    if (!s.player.busy()) s.tick.stop();
    return;
  }
  if (const std::optional<Error> error = s.player.takeError()) {
    halt();
    Q_EMIT trouble(errorLine(*error));
    return;
  }
  const std::int64_t heard = s.output->heardFrame();
  while (s.reports.size() > 1 && s.reports[1].output_frame <= heard)
    s.reports.pop_front();
  if (!s.reports.empty() && s.reports.front().output_frame <= heard) {
    const PlayerReport& now = s.reports.front();
    if (now.ended) {
      s.playing = false;
      s.position = startOf(s.request, s.range);
      Q_EMIT stateChanged();
      Q_EMIT positionChanged(s.position);
      Q_EMIT levelChanged(0.0F);
      return;
    }
    const double place =
        now.source_frame + static_cast<double>(heard - now.output_frame) * now.step;
    s.position = held(FrameIndex(std::llround(place)), s.range);
  }
  Q_EMIT positionChanged(s.position);
  Q_EMIT levelChanged(s.player.peak());
}

void Transport::letGo() {
  state_->let_go = true;
  state_->player.letGo();
}

void Transport::seek(FrameIndex frame) {
  State& s = *state_;
  if (std::holds_alternative<LiveSource>(s.request.source)) return;  // it has no other place
  s.position = held(frame, s.range);
  if (s.playing && !begin(s.position)) {
    halt();
    Q_EMIT trouble(tr("The sound device does not answer; choose another beside the volume"));
    return;
  }
  Q_EMIT positionChanged(s.position);
}

void Transport::setGains(const std::vector<float>& gains) {
  State& s = *state_;
  if (auto* const take = std::get_if<TakeSource>(&s.request.source)) take->gains = gains;
  s.player.setGains(gains);
}

void Transport::setRepeat(bool repeat) {
  State& s = *state_;
  if (repeat == repeats()) return;
  s.repeat = repeat;
  s.request.repeat = repeat;
  if (s.playing) s.player.setRepeat(repeat);
  Q_EMIT stateChanged();
}

bool Transport::repeats() const {
  return state_->repeat || (state_->playing && state_->request.repeat);
}

void Transport::setHalfSpeed(bool half) {
  State& s = *state_;
  if (half == s.half) return;
  s.half = half;
  s.player.setSpeed(half ? 0.5 : 1.0);
  Q_EMIT stateChanged();
}

bool Transport::halfSpeed() const {
  return state_->half;
}

void Transport::setVolumeDb(double db) {
  const double held = std::min(db, 0.0);
  state_->player.setVolume(held <= quietest_db ? 0.0F : static_cast<float>(gain_of_db(held)));
}

bool Transport::isPlaying() const {
  return state_->playing;
}

FrameIndex Transport::position() const {
  return state_->position;
}

const PlayRequest& Transport::request() const {
  return state_->request;
}

QList<Transport::Device> Transport::devices() const {
  QList<Device> list;
  for (const QAudioDevice& each : state_->output->devices())
    list.append({each.id(), each.description(), each.isDefault()});
  return list;
}

void Transport::setDevice(const QByteArray& id) {
  state_->output->setDevice(id);
}

QByteArray Transport::device() const {
  return state_->output->device();
}

float Transport::peak() const {
  return state_->playing ? state_->player.peak() : 0.0F;
}

TransportFigures Transport::figures() const {
  const State& s = *state_;
  return {s.output->isOpen(),       s.output->openDevice(), s.output->rateHz(),
          s.output->bufferFrames(), s.output->underruns(),  s.player.shortfall()};
}

void Transport::toggle() {
  if (isPlaying()) {
    stop();
  } else {
    Q_EMIT playAsked();
  }
}

}  // namespace fourbeat::ui
