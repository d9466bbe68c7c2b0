// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "PlaySource.h"

#include <QList>
#include <QObject>
#include <QString>
#include <memory>
#include <vector>

namespace fourbeat::ui {

/// How the sound device fares.
struct TransportFigures {
  bool open = false;
  QByteArray device;  ///< the one that is open, by its id
  double rate_hz = 0.0;
  std::int64_t buffer_frames = 0;  ///< what the device took, not what was asked for
  std::uint64_t underruns = 0;     ///< times the device ran out of sound
  std::uint64_t late_frames = 0;   ///< silent because a take was not read in time
};

/// Playing, as the window sees it: what plays, where, how loud. Lives in the window's thread; the
/// sound itself is made in a thread of its own. One for the whole program. The device stays open
/// while the program is in front, and until it has been in the background and silent for 30 s.
class Transport : public QObject {
  Q_OBJECT
 public:
  explicit Transport(QObject* parent = nullptr);
  ~Transport() override;

  /// Plays something in the place of what plays now.
  void play(const PlayRequest& request);
  void stop();
  /// Lets go of a held clip: it plays on past its loop.
  void letGo();
  /// Goes on from another frame of what plays (or was last played); what is live has none.
  void seek(FrameIndex frame);
  /// Changes the gains of a playing take without a break.
  void setGains(const std::vector<float>& gains);
  /// Repeats all that plays from now on. While something plays that asked to be repeated, repeats()
  /// is true as well, and setRepeat(false) lets it end.
  void setRepeat(bool repeat);
  [[nodiscard]] bool repeats() const;
  /// Half speed, an octave lower: for listening closely.
  void setHalfSpeed(bool half);
  [[nodiscard]] bool halfSpeed() const;
  /// Monitor volume, -60 to 0 dB. It changes nothing that is delivered.
  void setVolumeDb(double db);

  [[nodiscard]] bool isPlaying() const;
  /// The frame of the source now heard, or where playing would go on: where it was stopped, or,
  /// once it has ended, where it began.
  [[nodiscard]] FrameIndex position() const;
  /// What plays or was last played; its key is empty before the first.
  [[nodiscard]] const PlayRequest& request() const;

  struct Device {
    QByteArray id;
    QString name;
    bool isDefault = false;
  };
  [[nodiscard]] QList<Device> devices() const;
  /// "" follows the system's default.
  void setDevice(const QByteArray& id);
  [[nodiscard]] QByteArray device() const;

  /// Highest sample of the last 50 ms or so of what was played, linear; 0 when nothing plays.
  [[nodiscard]] float peak() const;
  [[nodiscard]] TransportFigures figures() const;

 Q_SIGNALS:
  void stateChanged();
  /// About 60 times a second while playing, and after each seek.
  void positionChanged(FrameIndex frame);
  void levelChanged(float peak);
  void devicesChanged();
  /// One line: no device, device gone, the take cannot be read.
  void trouble(const QString& line);
  /// The space bar was pressed with nothing playing.
  void playAsked();

 public Q_SLOTS:
  /// Stops what plays; else asks the page in view to play.
  void toggle();

 private:
  [[nodiscard]] bool begin(FrameIndex from);
  void halt();
  void follow();
  void heedApplication(Qt::ApplicationState state);
  void rest();

  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace fourbeat::ui
