// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Workspace.h"
#include "support.h"

#include "fourbeat/store/project_file.h"

#include <QStringList>
#include <functional>

namespace fourbeat::tests {

/// A small project opened, with all that a page of it needs, and what the page told.
class PageFixture {
 public:
  PageFixture() : workspace(small.open(), transport) {
    QObject::connect(&workspace, &ui::Workspace::told, &workspace,
                     [this](const QString& line, bool) { told.append(line); });
  }

  [[nodiscard]] const model::Project& project() const { return workspace.project(); }
  /// What of the project an undo brings back: all but the counter of ids, which only grows.
  [[nodiscard]] std::string state() const {
    model::Project project = workspace.project();
    project.next_id = 1'000'000;
    return store::project_text(project);
  }
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

}  // namespace fourbeat::tests
