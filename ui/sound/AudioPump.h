// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "AudioOutput.h"

#include <QAudioSink>
#include <QBasicTimer>
#include <vector>

namespace fourbeat::ui {

/// Lives in the sound thread: keeps a device's buffer full of what the player renders.
class AudioPump : public QObject {
  Q_OBJECT
 public:
  AudioPump(Player& player, std::shared_ptr<PumpState> state);
  ~AudioPump() override;

 public Q_SLOTS:
  void open(const QAudioDevice& device, quint64 attempt);
  void close();

 Q_SIGNALS:
  void opened(quint64 attempt, bool done, const QString& why);
  void lost(quint64 attempt);

 protected:
  void timerEvent(QTimerEvent* event) override;

 private:
  void feed();
  void giveUp();
  void anchor(std::int64_t queuedFrames);

  Player& player_;
  std::shared_ptr<PumpState> state_;
  std::unique_ptr<QAudioSink> sink_;
  QIODevice* device_ = nullptr;
  QBasicTimer timer_;
  quint64 attempt_ = 0;
  QAudioFormat format_;
  std::int64_t buffer_bytes_ = 0;
  std::int64_t device_frames_ = 0;  ///< the part of what was asked for that the device itself holds
  std::vector<float> mono_;
  std::vector<char> bytes_;
  QElapsedTimer taken_;  ///< since the device last took sound
  bool anchored_ = false;
  bool fed_ = false;
  bool dry_ = false;
};

}  // namespace fourbeat::ui
