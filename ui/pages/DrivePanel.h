// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "models/DriveKeyModel.h"

#include "fourbeat/drive/drive.h"
#include "fourbeat/drive/engine.h"

#include <QMap>
#include <QSet>
#include <QWidget>
#include <functional>

class QGridLayout;
class QKeyEvent;
class QLabel;
class QProgressBar;
class QRadioButton;
class QSlider;
class QTableView;

namespace fourbeat::ui {

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

  [[nodiscard]] const DriveKeyModel& keys() const { return *keys_; }

 Q_SIGNALS:
  /// The driver did something; the frame is not set.
  void given(const drive::Command& command);

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;
  void hideEvent(QHideEvent* event) override;

 private:
  /// A bar with its name before it and its figure behind.
  struct Gauge {
    QLabel* name = nullptr;
    QProgressBar* bar = nullptr;
    QLabel* figure = nullptr;
    void show(double value, const QString& line) const;
    void setVisible(bool visible) const;
  };

  void makeGauges(QGridLayout* grid);
  void makeControls(QGridLayout* grid);
  Gauge addGauge(QGridLayout* grid, const QString& name);
  QLabel* addFigure(QGridLayout* grid, int row);
  QSlider* addSlider(QGridLayout* grid, const QString& name, int low, int high,
                     const std::function<QString(int)>& figure,
                     const std::function<void(int)>& moved);
  QTableView* makeKeys();

  void giveKey(int row, bool on);
  /// A key of the set goes down or up, by hand.
  void operate(int row, bool down);
  void letAllGo();
  void stopAtOnce();
  [[nodiscard]] bool isFree(int key) const;
  [[nodiscard]] bool pressed(const QKeyEvent& event, bool act);
  void showSpeed(double kmh);
  void showState();
  void showVoices();

  DriveKeyModel* keys_;
  QLabel* state_;
  QLabel* clock_;
  Gauge speed_;
  Gauge voices_;
  Gauge pressure_;
  Gauge water_;
  QSlider* regulator_ = nullptr;
  QSlider* load_ = nullptr;
  QSlider* gradient_ = nullptr;
  QRadioButton* forward_ = nullptr;
  QRadioButton* reverse_ = nullptr;
  QTableView* list_ = nullptr;

  bool driving_ = false;
  int voice_limit_ = 1;
  QSet<int> sounding_;
  int refused_ = 0;  ///< sounds that found no voice
  QString stateWord_;
  QString effortWord_;
  QStringList ownStates_;
  bool slipping_ = false;
  QMap<int, int> held_;  ///< row of the key of the set, by the Qt::Key that holds it
};

}  // namespace fourbeat::ui
