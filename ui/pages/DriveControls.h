// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/engine.h"

#include <QWidget>
#include <functional>

class QCheckBox;
class QGridLayout;
class QRadioButton;
class QSlider;

namespace fourbeat::ui {

/// Regulator, load, gradient, direction, track power and emergency stop.
class DriveControls : public QWidget {
  Q_OBJECT
 public:
  explicit DriveControls(QWidget* parent = nullptr);

  /// Puts all as an engine at rest has it, which gives no command.
  void begin();
  void end() { driving_ = false; }

  [[nodiscard]] QSlider* regulator() const { return regulator_; }
  void stopAtOnce();

 Q_SIGNALS:
  void given(const drive::Command& command);

 private:
  QSlider* addSlider(QGridLayout* grid, const QString& name, int low, int high,
                     const std::function<QString(int)>& figure,
                     const std::function<void(int)>& moved);
  void addSliders(QGridLayout* grid);
  void addSwitches(QGridLayout* grid);

  QSlider* regulator_ = nullptr;
  QSlider* load_ = nullptr;
  QSlider* gradient_ = nullptr;
  QRadioButton* forward_ = nullptr;
  QRadioButton* reverse_ = nullptr;
  QCheckBox* power_ = nullptr;
  bool driving_ = false;
};

}  // namespace fourbeat::ui
