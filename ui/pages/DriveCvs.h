// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/drive/engine.h"
#include "fourbeat/model/project.h"

#include <QWidget>

class QLabel;
class QTableView;

namespace fourbeat::ui {

class DriveCvModel;

/// The set's own CVs while it is driven: a new value is in force at once, in the drive alone.
class DriveCvs : public QWidget {
  Q_OBJECT
 public:
  explicit DriveCvs(QWidget* parent = nullptr);

  /// As the set ships.
  void begin(const model::Project& project);
  void end();

 Q_SIGNALS:
  void given(const drive::Command& command);
  /// Return was pressed in a value: the keyboard is to drive again.
  void left();

 private:
  void addField(int row);

  DriveCvModel* cvs_;
  QLabel* none_;
  QTableView* list_;
};

}  // namespace fourbeat::ui
