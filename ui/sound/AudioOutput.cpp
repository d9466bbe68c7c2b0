// SPDX-License-Identifier: GPL-3.0-or-later
#include "AudioOutput.h"

#include "AudioPump.h"

#include "fourbeat/base/thread.h"

#include <QMediaDevices>
#include <algorithm>
#include <chrono>

namespace fourbeat::ui {

namespace {

constexpr int watch_ms = 500;
/// Time for the system to take a lost device off its list before another is opened.
constexpr qint64 settle_ms = 300;
/// A device that does not open in this time is given up, and the thread that waits for it.
constexpr qint64 open_limit_ms = 4000;
constexpr unsigned long quit_limit_ms = 2000;

bool same(const QAudioDevice& a, const QAudioDevice& b) {
  return a.id() == b.id() && a.preferredFormat().sampleRate() == b.preferredFormat().sampleRate() &&
         a.preferredFormat().channelCount() == b.preferredFormat().channelCount();
}

}  // namespace

AudioOutput::AudioOutput(Player& player, QObject* parent)
    : QObject(parent), player_(player), state_(std::make_shared<PumpState>()) {
  watch_.setInterval(watch_ms);
  connect(&watch_, &QTimer::timeout, this, &AudioOutput::look);
}

AudioOutput::~AudioOutput() {
  dropPump(quit_limit_ms);
}

QList<QAudioDevice> AudioOutput::devices() {
  if (media_ == nullptr) {
    // The first question makes the sound system's own thread, through which all sound passes.
    const HurriedOffspring hurried;
    media_ = std::make_unique<QMediaDevices>();
    // The list may be told of from a thread of the sound system.
    connect(media_.get(), &QMediaDevices::audioOutputsChanged, this, &AudioOutput::look,
            Qt::QueuedConnection);
    known_ = QMediaDevices::audioOutputs();
  }
  return QMediaDevices::audioOutputs();
}

QAudioDevice AudioOutput::wantedDevice() {
  const QList<QAudioDevice> all = devices();
  QAudioDevice fallback;
  for (const QAudioDevice& each : all) {
    if (each.id() == chosen_) return each;
    if (each.isDefault()) fallback = each;
  }
  QAudioDevice system = QMediaDevices::defaultAudioOutput();
  if (!system.isNull()) return system;
  if (fallback.isNull() && !all.isEmpty()) fallback = all.constFirst();
  return fallback;
}

void AudioOutput::open() {
  if (wanted_) return;
  wanted_ = true;
  watch_.start();
  since_.invalidate();
  look();
}

void AudioOutput::close() {
  wanted_ = false;
  watch_.stop();
  ++attempt_;
  stage_ = Stage::closed;
  current_ = QAudioDevice();
  if (pump_ != nullptr) QMetaObject::invokeMethod(pump_, &AudioPump::close, Qt::QueuedConnection);
}

bool AudioOutput::isOpen() const {
  return stage_ == Stage::open;
}

bool AudioOutput::ready() {
  open();
  return stage_ != Stage::closed || !wantedDevice().isNull();
}

void AudioOutput::setDevice(const QByteArray& id) {
  if (id == chosen_) return;
  chosen_ = id;
  if (wanted_) look();
}

std::int64_t AudioOutput::heardFrame() const {
  const double rate = rateHz();
  const std::int64_t rendered = player_.rendered();
  if (rate <= 0.0) return rendered;
  const std::int64_t now = std::chrono::duration_cast<std::chrono::nanoseconds>(
                               std::chrono::steady_clock::now().time_since_epoch())
                               .count();
  const auto heard =
      static_cast<std::int64_t>(static_cast<double>(now - state_->origin_ns.load()) * 1e-9 * rate);
  return std::clamp<std::int64_t>(heard, rendered - 2 * bufferFrames(), rendered);
}

void AudioOutput::makePump() {
  if (pump_ != nullptr) return;
  state_ = std::make_shared<PumpState>();
  thread_ = new QThread;
  thread_->setObjectName(QStringLiteral("sound"));
  pump_ = new AudioPump(player_, state_);
  pump_->moveToThread(thread_);
  connect(thread_, &QThread::finished, pump_, &QObject::deleteLater);
  connect(pump_, &AudioPump::opened, this, &AudioOutput::whenOpened);
  connect(pump_, &AudioPump::lost, this, &AudioOutput::whenLost);
  thread_->start(QThread::TimeCriticalPriority);
}

void AudioOutput::dropPump(unsigned long wait_ms) {
  if (pump_ == nullptr) return;
  state_->retired.store(true, std::memory_order_release);
  underruns_ += state_->underruns.load();
  pump_->disconnect(this);
  QMetaObject::invokeMethod(pump_, &AudioPump::close, Qt::QueuedConnection);
  thread_->quit();
  // One that hangs in the sound system is left alone: it never renders again.
  if (thread_->wait(wait_ms)) delete thread_;
  thread_ = nullptr;
  pump_ = nullptr;
}

void AudioOutput::begin(const QAudioDevice& device) {
  makePump();
  current_ = device;
  stage_ = Stage::opening;
  since_.start();
  const quint64 attempt = ++attempt_;
  QMetaObject::invokeMethod(
      pump_, [pump = pump_, device, attempt] { pump->open(device, attempt); },
      Qt::QueuedConnection);
}

void AudioOutput::look() {
  const QList<QAudioDevice> all = devices();
  const bool changed =
      all.size() != known_.size() ||
      !std::equal(all.begin(), all.end(), known_.begin(), [](const auto& a, const auto& b) {
        return same(a, b) && a.isDefault() == b.isDefault();
      });
  known_ = all;
  if (changed) Q_EMIT devicesChanged();
  if (!wanted_) return;
  const QAudioDevice device = wantedDevice();
  switch (stage_) {
    case Stage::closed:
      if (!device.isNull() && (!since_.isValid() || since_.elapsed() >= settle_ms)) begin(device);
      break;
    case Stage::opening:
      if (since_.elapsed() > open_limit_ms) {
        dropPump(0);
        stage_ = Stage::closed;
        since_.start();
        Q_EMIT trouble(tr("The sound device “%1” does not answer").arg(current_.description()));
      }
      break;
    case Stage::open:
      if (!device.isNull() && !same(device, current_)) begin(device);
      break;
  }
}

void AudioOutput::whenOpened(quint64 attempt, bool done, const QString& why) {
  if (attempt != attempt_) return;
  if (done) {
    stage_ = Stage::open;
    Q_EMIT opened();
    return;
  }
  stage_ = Stage::closed;
  since_.start();
  Q_EMIT trouble(tr("The sound device “%1”: %2").arg(current_.description(), why));
}

void AudioOutput::whenLost(quint64 attempt) {
  if (attempt != attempt_) return;
  stage_ = Stage::closed;
  since_.start();
  Q_EMIT lost();
  QTimer::singleShot(static_cast<int>(settle_ms), this, [this] { look(); });
}

}  // namespace fourbeat::ui
