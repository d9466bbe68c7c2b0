// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QWidget>

class QLabel;
class QMenu;
class QSlider;
class QToolButton;

namespace fourbeat::ui {

class LevelMeter;
class Transport;

/// Play and stop, repeat, half speed, where it plays, the level, the volume and the device.
class TransportBar : public QWidget {
  Q_OBJECT
 public:
  explicit TransportBar(Transport& transport, QWidget* parent = nullptr);

 private:
  void refresh();
  void showPosition();
  void fillDevices();

  Transport& transport_;
  QToolButton* play_;
  QToolButton* repeat_;
  QToolButton* half_;
  QLabel* position_;
  QLabel* title_;
  LevelMeter* meter_;
  QSlider* volume_;
  QToolButton* device_;
  QMenu* devices_;
};

}  // namespace fourbeat::ui
