// SPDX-License-Identifier: GPL-3.0-or-later
#include "AudioPump.h"

#include "fourbeat/base/thread.h"

#include <QTimerEvent>
#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstring>

namespace fourbeat::ui {

namespace {

constexpr int pump_ms = 3;
/// A device that takes nothing for so long is gone.
constexpr qint64 dead_after_ms = 1000;
/// How much of a new measurement goes into the clock: the device takes sound in gulps.
constexpr double anchor_share = 0.02;
constexpr std::int64_t anchor_jump_ns = 30'000'000;

std::int64_t steadyNs() {
  return std::chrono::duration_cast<std::chrono::nanoseconds>(
             std::chrono::steady_clock::now().time_since_epoch())
      .count();
}

/// Every channel gets the same samples.
void spread(std::span<const float> mono, const QAudioFormat& format, char* to) noexcept {
  const int channels = format.channelCount();
  if (format.sampleFormat() == QAudioFormat::Float) {
    for (const float sample : mono) {
      for (int channel = 0; channel < channels; ++channel, to += sizeof sample)
        std::memcpy(to, &sample, sizeof sample);
    }
    return;
  }
  for (const float sample : mono) {
    const auto whole =
        static_cast<std::int16_t>(std::lrint(std::clamp(sample, -1.0F, 1.0F) * 32767.0F));
    for (int channel = 0; channel < channels; ++channel, to += sizeof whole)
      std::memcpy(to, &whole, sizeof whole);
  }
}

}  // namespace

AudioPump::AudioPump(Player& player, std::shared_ptr<PumpState> state)
    : player_(player), state_(std::move(state)) {}

AudioPump::~AudioPump() = default;

void AudioPump::open(const QAudioDevice& device, quint64 attempt) {
  close();
  static_cast<void>(hurry_this_thread());
  attempt_ = attempt;
  format_ = device.preferredFormat();
  format_.setChannelConfig(QAudioFormat::ChannelConfigUnknown);
  format_.setChannelCount(std::clamp(format_.channelCount(), 1, 2));
  format_.setSampleFormat(QAudioFormat::Float);
  if (!device.isFormatSupported(format_)) format_.setSampleFormat(QAudioFormat::Int16);
  if (!format_.isValid() || format_.sampleRate() < 8000 || !device.isFormatSupported(format_)) {
    Q_EMIT opened(attempt, false, tr("it takes no format that is made here"));
    return;
  }
  sink_ = std::make_unique<QAudioSink>(device, format_);
  const int asked_bytes = format_.bytesForDuration(qint64{AudioOutput::buffer_ms} * 1000);
  sink_->setBufferSize(asked_bytes);
  device_ = sink_->start();
  if (device_ == nullptr || sink_->state() == QAudio::StoppedState) {
    sink_.reset();
    device_ = nullptr;
    Q_EMIT opened(attempt, false, tr("it cannot be opened"));
    return;
  }
  buffer_bytes_ = sink_->bufferSize();
  device_frames_ = std::max<std::int64_t>(0, asked_bytes - buffer_bytes_) / format_.bytesPerFrame();
  const std::int64_t frames = format_.framesForBytes(static_cast<qint32>(buffer_bytes_));
  mono_.assign(static_cast<std::size_t>(frames), 0.0F);
  bytes_.assign(static_cast<std::size_t>(buffer_bytes_), 0);
  anchored_ = false;
  fed_ = false;
  dry_ = false;
  taken_.start();
  state_->buffer_frames.store(frames);
  state_->rate_hz.store(format_.sampleRate());
  if (!state_->retired.load()) Q_EMIT opened(attempt, true, QString());
  timer_.start(pump_ms, Qt::PreciseTimer, this);
  feed();
}

void AudioPump::close() {
  timer_.stop();
  device_ = nullptr;
  state_->rate_hz.store(0.0);
  sink_.reset();
}

void AudioPump::timerEvent(QTimerEvent* event) {
  if (event->timerId() == timer_.timerId()) feed();
}

void AudioPump::giveUp() {
  close();
  Q_EMIT lost(attempt_);
}

void AudioPump::anchor(std::int64_t queuedFrames) {
  const double heard = static_cast<double>(player_.rendered() - queuedFrames - device_frames_);
  const auto measured = steadyNs() - static_cast<std::int64_t>(heard / format_.sampleRate() * 1e9);
  const std::int64_t before = state_->origin_ns.load(std::memory_order_relaxed);
  const std::int64_t off = measured - before;
  const bool jump = !anchored_ || std::abs(off) > anchor_jump_ns;
  state_->origin_ns.store(
      jump ? measured : before + static_cast<std::int64_t>(static_cast<double>(off) * anchor_share),
      std::memory_order_relaxed);
  anchored_ = true;
}

void AudioPump::feed() {
  if (state_->retired.load(std::memory_order_acquire)) {
    close();
    return;
  }
  if (sink_ == nullptr) return;
  const auto free = static_cast<std::int64_t>(sink_->bytesFree());
  const bool stopped = sink_->state() == QAudio::StoppedState;
  if (stopped || free < 0 || taken_.elapsed() > dead_after_ms) {
    giveUp();
    return;
  }
  if (free >= buffer_bytes_ || sink_->state() == QAudio::IdleState) {
    if (fed_ && !dry_) state_->underruns.fetch_add(1, std::memory_order_relaxed);
    dry_ = true;
  } else {
    dry_ = false;
  }
  const auto frames = static_cast<std::size_t>(std::min<std::int64_t>(
      free / format_.bytesPerFrame(), static_cast<std::int64_t>(mono_.size())));
  if (frames == 0) return;
  const std::span<float> block = std::span(mono_).first(frames);
  player_.render(block, format_.sampleRate());
  spread(block, format_, bytes_.data());
  const auto bytes = static_cast<qint64>(frames) * format_.bytesPerFrame();
  if (device_->write(bytes_.data(), bytes) != bytes) {
    giveUp();
    return;
  }
  fed_ = true;
  taken_.restart();
  const auto left = static_cast<std::int64_t>(sink_->bytesFree());
  anchor(std::max<std::int64_t>(0, buffer_bytes_ - left) / format_.bytesPerFrame());
}

}  // namespace fourbeat::ui
