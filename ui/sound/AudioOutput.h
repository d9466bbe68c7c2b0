// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Player.h"

#include <QAudioDevice>
#include <QElapsedTimer>
#include <QObject>
#include <QThread>
#include <QTimer>
#include <atomic>
#include <memory>

class QMediaDevices;

namespace fourbeat::ui {

class AudioPump;

/// What the window's thread may know of the thread that feeds the device.
struct PumpState {
  std::atomic<bool> retired{false};            ///< the pump must render no more
  std::atomic<std::int64_t> origin_ns{0};      ///< steady time at which output frame 0 was heard
  std::atomic<double> rate_hz{0.0};            ///< 0: no device is open
  std::atomic<std::uint64_t> underruns{0};     ///< times the device ran out of sound
  std::atomic<std::int64_t> buffer_frames{0};  ///< what the device really took
};

/// Feeds a Player's sound to a sound device, in a thread of its own. Lives in the window's thread,
/// which never waits for the device. While open, silence flows, so that a press is heard at once.
/// A device that goes is replaced by the one that is the system's default then; a chosen one that
/// comes back is taken again.
class AudioOutput : public QObject {
  Q_OBJECT
 public:
  /// Length of buffering that is asked for. Sound servers share it between the stream and the
  /// device: of 26 ms, some 19 ms are the stream's.
  static constexpr int buffer_ms = 26;

  /// The player outlives the object.
  explicit AudioOutput(Player& player, QObject* parent = nullptr);
  ~AudioOutput() override;

  /// Wants a device open, or none.
  void open();
  void close();
  /// True when a device is open, or one is there and being opened.
  [[nodiscard]] bool ready();
  [[nodiscard]] bool isOpen() const;
  /// "" follows the system's default.
  void setDevice(const QByteArray& id);
  [[nodiscard]] QByteArray device() const { return chosen_; }
  /// The id of the device that is open or being opened.
  [[nodiscard]] QByteArray openDevice() const { return current_.id(); }
  [[nodiscard]] QList<QAudioDevice> devices();

  /// The output frame of the player that is heard now, as far as the buffer tells.
  [[nodiscard]] std::int64_t heardFrame() const;
  [[nodiscard]] double rateHz() const { return state_->rate_hz.load(); }
  [[nodiscard]] std::int64_t bufferFrames() const { return state_->buffer_frames.load(); }
  [[nodiscard]] std::uint64_t underruns() const { return underruns_ + state_->underruns.load(); }

 Q_SIGNALS:
  void opened();
  /// The device that was open is gone; another is looked for.
  void lost();
  void devicesChanged();
  /// One line, when a device cannot be opened.
  void trouble(const QString& line);

 private:
  [[nodiscard]] QAudioDevice wantedDevice();
  void makePump();
  void dropPump(unsigned long wait_ms);
  void look();
  void begin(const QAudioDevice& device);
  void whenOpened(quint64 attempt, bool done, const QString& why);
  void whenLost(quint64 attempt);

  Player& player_;
  std::unique_ptr<QMediaDevices> media_;
  QList<QAudioDevice> known_;
  QByteArray chosen_;
  QAudioDevice current_;  ///< being opened or open
  bool wanted_ = false;
  enum class Stage { closed, opening, open } stage_ = Stage::closed;
  quint64 attempt_ = 0;
  QElapsedTimer since_;  ///< since the last attempt began, or the device was lost
  QTimer watch_;
  std::shared_ptr<PumpState> state_;
  QThread* thread_ = nullptr;
  AudioPump* pump_ = nullptr;
  std::uint64_t underruns_ = 0;  ///< of pumps that are gone
};

}  // namespace fourbeat::ui
