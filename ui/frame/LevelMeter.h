// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

namespace fourbeat::ui {

/// A level meter of what is played: a bar from -60 to 0 dBFS that falls back 20 dB a second, a
/// line at the highest of the last two seconds, and the figure. Over full scale it says so in
/// words, until it is clicked or Return is pressed on it.
class LevelMeter : public QWidget {
  Q_OBJECT
 public:
  explicit LevelMeter(QWidget* parent = nullptr);

  /// peak: linear, of the newest block.
  void setPeak(float peak);
  [[nodiscard]] double shownDb() const { return shownDb_; }

  [[nodiscard]] QSize sizeHint() const override;

 protected:
  void paintEvent(QPaintEvent* event) override;
  void timerEvent(QTimerEvent* event) override;
  void mousePressEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;

 private:
  void setOver(bool over);

  double shownDb_;
  double heldDb_;
  int heldTicks_ = 0;
  bool over_ = false;
  int timer_ = 0;
};

}  // namespace fourbeat::ui
