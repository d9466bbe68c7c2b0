// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QAbstractItemView>
#include <QPoint>
#include <QString>
#include <QStringList>
#include <QWidget>

namespace fourbeat::tests {

/// The real pointer and keyboard of an X display, moved by xdotool: what a person could do and no
/// more. Every call lets the window work until the input has been taken.
class Hand {
 public:
  /// Clicks the middle of a widget, or a point of it.
  static void click(const QWidget* widget);
  static void click(const QWidget* widget, const QPoint& at, int button = 1, int times = 1);
  /// Clicks a cell of a list or table after scrolling it into view.
  static void click(QAbstractItemView* view, int row, int column = 0, int times = 1);
  /// Presses at one point, moves to another in steps, and lets go.
  static void drag(const QWidget* from, const QPoint& start, const QWidget* to, const QPoint& end);
  static void hold(const QWidget* widget, int ms);
  /// Types text into what has the keyboard.
  static void type(const QString& text);
  /// Presses keys in turn, in xdotool's words: "ctrl+s", "Tab", "Return".
  static void keys(const QStringList& names);
};

/// The visible widget of class T below `root` whose accessible name, text or object name is `name`;
/// fails the test where there is none.
QWidget* findWidget(const QWidget* root, const QString& name, const char* className = nullptr);

}  // namespace fourbeat::tests
