// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QObject>

class QKeyEvent;
class QMainWindow;
class QWidget;

namespace fourbeat::ui {

class Transport;

/// What of the keyboard and of drops is the window's before it is a widget's: the space bar plays
/// and stops where it means nothing else, undo and redo are the project's once a field has no
/// typing of its own to take back, and files dropped on a field are takes, not text. Watches the
/// program's events from its making to its end.
class WindowKeys : public QObject {
  Q_OBJECT
 public:
  /// window and transport must outlive it.
  WindowKeys(QMainWindow& window, Transport& transport);
  ~WindowKeys() override;

 Q_SIGNALS:
  /// Escape was pressed in a widget of the window, which has it too.
  void escaped();

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  /// True when the key goes no further.
  bool pressed(QWidget* watched, const QKeyEvent& key);

  QMainWindow& window_;
  Transport& transport_;
};

}  // namespace fourbeat::ui
