// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>
#include <QWidget>

namespace fourbeat::ui {

class Workspace;

/// A part of a page: a list of entities of one kind, and a form of the chosen one.
class Section : public QWidget {
 public:
  using QWidget::QWidget;
  /// One line: what it needs next.
  [[nodiscard]] virtual QString need() const = 0;
  /// Chooses the one at a place of the project's list.
  virtual void reveal(std::size_t place) = 0;
};

[[nodiscard]] Section* makeTriggers(Workspace& workspace, QWidget* parent);
[[nodiscard]] Section* makeLayers(Workspace& workspace, QWidget* parent);
[[nodiscard]] Section* makeStates(Workspace& workspace, QWidget* parent);

}  // namespace fourbeat::ui
