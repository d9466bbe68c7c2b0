// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Workspace.h"
#include "support.h"

#include <QDoubleSpinBox>
#include <QPushButton>
#include <QStringList>
#include <QTabWidget>
#include <QTest>
#include <functional>

namespace fourbeat::tests {

/// The child of an accessible name.
template <class Widget>
Widget* childNamed(const QWidget& parent, const QString& name) {
  for (Widget* widget : parent.findChildren<Widget*>()) {
    if (widget->accessibleName() == name) return widget;
  }
  FAIL("no " << name.toStdString());
  return nullptr;
}

/// A small project opened, with all that a page of it needs, and what the page told.
class PageFixture {
 public:
  PageFixture() : workspace(small.open(), transport) {
    QObject::connect(&workspace, &ui::Workspace::told, &workspace,
                     [this](const QString& line, bool) { told.append(line); });
  }

  [[nodiscard]] const model::Project& project() const { return workspace.project(); }
  [[nodiscard]] std::string state() const { return undoableText(workspace.project()); }
  void undo() { workspace.document().undoStack().undo(); }
  /// Operates a control, which must change the project by one step; a look at what it changed;
  /// then an undo, which must bring everything back.
  void edits(const std::function<void()>& operate, const std::function<bool()>& changed) {
    const std::string before = state();
    const int steps = workspace.document().undoStack().index();
    operate();
    INFO(told.join(QLatin1Char('\n')).toStdString());
    REQUIRE(workspace.document().undoStack().index() == steps + 1);
    CHECK(state() != before);
    CHECK(changed());
    undo();
    CHECK(state() == before);
  }

  SmallProject small;
  ui::Transport transport;
  ui::Workspace workspace;
  QStringList told;
};

/// A page of such a project, shown and with the keyboard; its widgets by their accessible names.
template <class PageType>
struct ShownPage : PageFixture {
  ShownPage() : page(workspace) {
    page.resize(1000, 620);
    page.show();
    REQUIRE(QTest::qWaitForWindowExposed(&page));
    page.activateWindow();
    page.entered();
  }
  template <class Widget>
  Widget* named(const QString& name) {
    return childNamed<Widget>(page, name);
  }
  void openTab(QWidget* panel) { page.template findChild<QTabWidget*>()->setCurrentWidget(panel); }
  void press(const QString& name) { QTest::mouseClick(named<QPushButton>(name), Qt::LeftButton); }
  void number(const QString& name, double value) { named<QDoubleSpinBox>(name)->setValue(value); }

  PageType page;
};

}  // namespace fourbeat::tests
