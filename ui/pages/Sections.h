// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QString>
#include <QWidget>

namespace fourbeat::ui {

class Workspace;

/// A part of a page: a list of entities of one kind and a form of the chosen one, or a form alone.
class Section : public QWidget {
 public:
  using QWidget::QWidget;
  /// One line: what it needs next.
  [[nodiscard]] virtual QString need() const = 0;
  /// Shows what of its list or value a snag points to: "3/name" is the entity at place 3 of the
  /// project's list, "full_brake_s" a member.
  virtual void reveal(const QString& inside) = 0;
};

[[nodiscard]] Section* makeTriggers(Workspace& workspace, QWidget* parent);
[[nodiscard]] Section* makeLayers(Workspace& workspace, QWidget* parent);
[[nodiscard]] Section* makeStates(Workspace& workspace, QWidget* parent);

[[nodiscard]] Section* makeOptions(Workspace& workspace, QWidget* parent);
[[nodiscard]] Section* makeCvEffects(Workspace& workspace, QWidget* parent);
[[nodiscard]] Section* makeDriving(Workspace& workspace, QWidget* parent);
[[nodiscard]] Section* makeDuties(Workspace& workspace, QWidget* parent);

}  // namespace fourbeat::ui
