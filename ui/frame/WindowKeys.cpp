// SPDX-License-Identifier: GPL-3.0-or-later
#include "WindowKeys.h"

#include "pages/Fields.h"
#include "sound/Transport.h"

#include <QAbstractButton>
#include <QAbstractItemView>
#include <QAbstractSpinBox>
#include <QApplication>
#include <QComboBox>
#include <QDragEnterEvent>
#include <QKeyEvent>
#include <QLineEdit>
#include <QMainWindow>
#include <QMimeData>
#include <QPlainTextEdit>
#include <QTextDocument>
#include <QTextEdit>

namespace fourbeat::ui {

namespace {

/// Widgets in which the space bar has a meaning of its own.
bool takesSpace(const QWidget* widget) {
  if (const auto* view = qobject_cast<const QAbstractItemView*>(widget)) {
    return view->currentIndex().flags().testFlag(Qt::ItemIsUserCheckable);
  }
  return qobject_cast<const QLineEdit*>(widget) || qobject_cast<const QTextEdit*>(widget) ||
         qobject_cast<const QPlainTextEdit*>(widget) ||
         qobject_cast<const QAbstractSpinBox*>(widget) || qobject_cast<const QComboBox*>(widget) ||
         qobject_cast<const QAbstractButton*>(widget);
}

/// The line that is typed in: the field itself, or that of a number field or a list; null: none.
QLineEdit* lineOf(QObject* field) {
  if (auto* line = qobject_cast<QLineEdit*>(field)) return line;
  if (qobject_cast<QAbstractSpinBox*>(field) || qobject_cast<QComboBox*>(field))
    return field->findChild<QLineEdit*>();
  return nullptr;
}

/// A field that takes undo and redo for its typing, though it has none to take back.
bool hasNothingToUndo(QObject* field, bool undoes) {
  if (const QLineEdit* line = lineOf(field))
    return !(undoes ? line->isUndoAvailable() : line->isRedoAvailable());
  if (const auto* words = qobject_cast<QPlainTextEdit*>(field)) {
    const QTextDocument* text = words->document();
    return !(undoes ? text->isUndoAvailable() : text->isRedoAvailable());
  }
  return false;
}

bool takesText(QObject* widget) {
  return qobject_cast<QLineEdit*>(widget) || qobject_cast<QPlainTextEdit*>(widget->parent()) ||
         qobject_cast<QTextEdit*>(widget->parent());
}

}  // namespace

WindowKeys::WindowKeys(QMainWindow& window, Transport& transport)
    : window_(window), transport_(transport) {
  qApp->installEventFilter(this);
}

WindowKeys::~WindowKeys() {
  qApp->removeEventFilter(this);
}

bool WindowKeys::pressed(QWidget* watched, const QKeyEvent& key) {
  // The button that began the playing has the keyboard: the space bar stops, not begins again.
  const bool stops = transport_.isPlaying() && qobject_cast<QAbstractButton*>(watched) &&
                     !watched->property("ownsSpace").toBool();
  if (key.key() == Qt::Key_Space && key.modifiers() == Qt::NoModifier && !key.isAutoRepeat() &&
      (stops || !takesSpace(watched))) {
    transport_.toggle();
    return true;
  }
  if (key.key() == Qt::Key_Escape) Q_EMIT escaped();
  return false;
}

bool WindowKeys::eventFilter(QObject* watched, QEvent* event) {
  const auto here = [&] { return window_.isActiveWindow() && watched == window_.focusWidget(); };
  // The window's dialogs have their own undo keys.
  const auto hasKeyboard = [&] { return watched == QApplication::focusWidget(); };
  switch (event->type()) {
    case QEvent::ShortcutOverride: {
      const auto* key = static_cast<QKeyEvent*>(event);
      const bool undoes = key->matches(QKeySequence::Undo);
      if ((undoes || key->matches(QKeySequence::Redo)) && hasKeyboard() &&
          hasNothingToUndo(watched, undoes)) {
        event->ignore();
        return true;
      }
      break;
    }
    case QEvent::KeyPress:
      if (here() && pressed(qobject_cast<QWidget*>(watched), *static_cast<QKeyEvent*>(event)))
        return true;
      break;
    case QEvent::FocusIn: {
      // What was typed before the field was left is in the project, and undone there.
      const Qt::FocusReason reason = static_cast<QFocusEvent*>(event)->reason();
      QLineEdit* line = lineOf(watched);
      if (line != nullptr && reason != Qt::PopupFocusReason &&
          reason != Qt::ActiveWindowFocusReason) {
        forgetTyping(line);
      }
      break;
    }
    case QEvent::DragEnter:
      if (takesText(watched) && static_cast<QDragEnterEvent*>(event)->mimeData()->hasUrls()) {
        event->ignore();  // what holds the field is asked next, the window last
        return true;
      }
      break;
    default:
      break;
  }
  return QObject::eventFilter(watched, event);
}

}  // namespace fourbeat::ui
