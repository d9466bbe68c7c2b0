// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Workspace.h"
#include "support.h"

#include <QTableView>
#include <QTest>
#include <functional>
#include <vector>

namespace fourbeat::tests {

/// A small project opened as pages see it.
struct PageRig {
  SmallProject small;
  ui::Transport transport;
  ui::Workspace workspace{small.open(), transport};

  [[nodiscard]] const model::Project& project() const { return workspace.project(); }
  [[nodiscard]] ui::Document& document() { return workspace.document(); }
  [[nodiscard]] std::string text() const { return undoableText(workspace.project()); }
  /// Operates a control: it must make one step that changes the project, and undoing that step
  /// must bring back what was before. `seen`: what must hold between the two.
  void operate(const char* what, const std::function<void()>& act,
               const std::function<bool()>& seen) {
    INFO(what);
    const std::string before = text();
    const int steps = document().undoStack().index();
    act();
    const bool changed = text() != before;
    CHECK(changed);
    CHECK(seen());
    REQUIRE(document().undoStack().index() == steps + 1);
    document().undoStack().undo();
    const bool undone = text() == before;
    CHECK(undone);
  }
  /// All sounds and the chuffs, by so many dB, in one step.
  void makeQuieter(double by_db) {
    std::vector<model::Edit> edits;
    for (const model::Sound& sound : project().sounds)
      edits.emplace_back(model::SetSoundGain{sound.id, sound.gain_db - by_db});
    model::ChuffTable chuffs = project().chuffs;
    chuffs.gain_db -= by_db;
    edits.emplace_back(model::SetChuffTable{chuffs});
    REQUIRE(document().perform(QStringLiteral("Quieter"), edits));
  }
  /// Random edits, each undone at once or kept, with all undone at the end: views of the project
  /// must keep up.
  void shake(quint64 steps = 120) {
    for (quint64 seed = 0; seed < steps; ++seed) {
      REQUIRE(document().perform(QStringLiteral("step"), {randomEdit(project(), seed)}));
      if (seed % 3 == 0) document().undoStack().undo();
    }
    while (document().undoStack().canUndo())
      document().undoStack().undo();
    while (document().undoStack().canRedo())
      document().undoStack().redo();
  }
};

/// Shows a page in a window that has the keyboard, so that its shortcuts work.
inline void showActive(QWidget& page) {
  page.show();
  page.activateWindow();
  REQUIRE(QTest::qWaitForWindowActive(&page));
}

/// Opens the editor of a cell, hands it over, and gives its value to the model.
template <class Editor>
void editCell(QTableView& table, int row, int column, const std::function<void(Editor&)>& act) {
  const QModelIndex index = table.model()->index(row, column);
  table.setCurrentIndex(index);
  table.edit(index);
  Editor* editor = table.viewport()->findChild<Editor*>();
  REQUIRE(editor != nullptr);
  act(*editor);
  QCoreApplication::processEvents();
  if (Editor* still = table.viewport()->findChild<Editor*>(); still != nullptr)
    QTest::keyClick(still, Qt::Key_Return);
  QCoreApplication::processEvents();
  QCoreApplication::sendPostedEvents(nullptr, QEvent::DeferredDelete);
}

/// The child of an accessible name.
template <class Widget>
Widget& named(QWidget& parent, const char* name) {
  for (Widget* widget : parent.findChildren<Widget*>()) {
    if (widget->accessibleName() == QString::fromUtf8(name)) return *widget;
  }
  FAIL("no widget named " << name);
  throw std::logic_error(name);
}

}  // namespace fourbeat::tests
