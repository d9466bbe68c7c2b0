// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/drive.h"
#include "fourbeat/model/project.h"

#include <QSet>
#include <QStringList>
#include <QWidget>

class QGridLayout;
class QLabel;
class QProgressBar;

namespace fourbeat::ui {

/// What the engine does while it is driven: state and effort, time, and bars for speed, voices
/// and, where the set has duties, pressure and water.
class DriveGauges : public QWidget {
  Q_OBJECT
 public:
  explicit DriveGauges(QWidget* parent = nullptr);

  /// At rest. voices: the decoder's limit.
  void begin(const model::Project& project, int voices);
  void take(const drive::Event& event);
  void setClock(double seconds);

 private:
  /// A bar with its name before it and its figure behind.
  struct Gauge {
    QLabel* name = nullptr;
    QProgressBar* bar = nullptr;
    QLabel* figure = nullptr;
    void show(double value, const QString& line) const;
    void setVisible(bool visible) const;
  };
  Gauge addGauge(QGridLayout* grid, const QString& name);
  void takeVoice(const drive::Event& event);
  void showSpeed(double kmh);
  void showState();
  void showVoices();

  QLabel* state_;
  QLabel* clock_;
  Gauge speed_;
  Gauge voices_;
  Gauge pressure_;
  Gauge water_;

  int voice_limit_ = 1;
  QSet<int> sounding_;
  int refused_ = 0;  ///< sounds that found no voice, or lost theirs
  QString stateWord_;
  QString effortWord_;
  QStringList ownStates_;
  bool slipping_ = false;
};

/// The figure at the end of a row of the driver's place: as wide as all of them.
[[nodiscard]] QLabel* addDriveFigure(QGridLayout* grid, int row, QWidget* parent);

}  // namespace fourbeat::ui
