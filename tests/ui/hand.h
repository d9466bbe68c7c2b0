// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QPointF>
#include <QString>
#include <QStringList>
#include <functional>

class QWidget;

namespace fourbeat::tests {

/// The real pointer and keyboard of an X display, moved by xdotool: what a person could do and no
/// more. A script runs in a thread of its own, so that dialogs may run their own loops; it looks at
/// the window only through ask() and waitFor(). Widgets are named by accessible name, text (without
/// '&') or object name; the front window is searched first.
class Hand {
 public:
  /// Runs a script while the window's loop runs. "" when all went well, else what did not.
  [[nodiscard]] static QString run(const std::function<void(Hand&)>& script);

  /// Clicks the middle of a widget, or a place of it in fractions of its width and height.
  void click(const QString& name, QPointF at = {0.5, 0.5}, int times = 1);
  /// Clicks the first row of a list or table whose cell in `column` holds `text`, there or in
  /// column `target`.
  void clickRow(const QString& view, const QString& text, int column = 0, int target = -1,
                int times = 1);
  /// Clicks a tab of a tab widget or tab bar.
  void clickTab(const QString& tabs, const QString& tab);
  /// Picks an entry of a combo box by keyboard.
  void choose(const QString& combo, const QString& entry);
  /// Presses at one place, moves to another in steps, and lets go.
  void drag(const QString& from, QPointF start, const QString& to, QPointF end);
  /// Holds the left button down on a widget.
  void hold(const QString& name, int ms);
  void type(const QString& text);
  /// Keys in turn, in xdotool's words: "ctrl+s", "Tab", "Return".
  void keys(const QStringList& names);
  /// Holds a key down.
  void holdKey(const QString& name, int ms);

  /// Runs a look at the window in its thread.
  void ask(const std::function<void()>& look);
  /// Looks again and again until it holds; fails with `what` after `ms`.
  void waitFor(const QString& what, const std::function<bool()>& holds, int ms = 60'000);
  [[noreturn]] void fail(const QString& what);

  /// In the window's thread: the visible widget of a class and name, or null.
  [[nodiscard]] static QWidget* find(const QString& name, const char* className = "QWidget");

 private:
  Hand() = default;
  [[nodiscard]] QPoint placeOf(const QString& name, QPointF at);
  void xdotool(const QStringList& arguments);
};

}  // namespace fourbeat::tests
