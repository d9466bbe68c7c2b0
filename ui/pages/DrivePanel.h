// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/drive.h"
#include "fourbeat/drive/engine.h"
#include "fourbeat/model/project.h"

#include <QWidget>

class QKeyEvent;

namespace fourbeat::ui {

class DriveControls;
class DriveCvs;
class DriveGauges;
class DriveKeyModel;
class DriveKeys;

/// The driver's place: what the engine does, and the controls. While it is in use and in view, the
/// window's keyboard drives: up, down and home for the regulator, Escape for the emergency stop,
/// and the keys of the set by the digit or letter that is shown beside them.
class DrivePanel : public QWidget {
  Q_OBJECT
 public:
  explicit DrivePanel(QWidget* parent = nullptr);

  /// At rest, all off; voices: the decoder's limit.
  void begin(const model::Project& project, int voices);
  /// Keys that are held are let go of.
  void end();
  void take(const drive::Event& event);
  void setClock(double seconds);

  [[nodiscard]] const DriveKeyModel& keys() const;

 Q_SIGNALS:
  /// The driver did something; the frame is not set.
  void given(const drive::Command& command);

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;
  void hideEvent(QHideEvent* event) override;

 private:
  [[nodiscard]] bool isFree(int key) const;
  [[nodiscard]] bool pressed(const QKeyEvent& event, bool act);
  /// Moves the regulator, by steps or (shut) to nothing; false when the key does not.
  [[nodiscard]] bool moveRegulator(int key, bool act);

  DriveGauges* gauges_;
  DriveControls* controls_;
  DriveKeys* keys_;
  DriveCvs* cvs_;
  bool driving_ = false;
};

}  // namespace fourbeat::ui
