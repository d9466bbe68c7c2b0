// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QList>
#include <QString>
#include <QWidget>

class QAction;

namespace fourbeat::ui {

class Workspace;

/// A page of the editor: a thin view on the project. Lives as long as the project is open. A page
/// holds no rule: it shows values, and changes them by Workspace::perform() alone.
class Page : public QWidget {
  Q_OBJECT
 public:
  explicit Page(Workspace& workspace, QWidget* parent = nullptr);

  /// One line: what this page needs next, or what it is good for when it needs nothing.
  [[nodiscard]] const QString& need() const { return need_; }

  /// Brings the value of a JSON Pointer of the project ("/segments/3") into view and selects it.
  virtual void reveal(const QString& pointer) { (void)pointer; }
  /// True when reveal() can show it.
  [[nodiscard]] virtual bool shows(const QString& pointer) const {
    (void)pointer;
    return false;
  }
  /// The page is now the one in view.
  virtual void entered() {}
  /// The space bar (no `from`) or a click asks to play what the page shows; the page hands it to
  /// the transport.
  virtual void playRequested() {}

 Q_SIGNALS:
  void needChanged();

 protected:
  /// Tells what the page needs next.
  void setNeed(const QString& need);
  [[nodiscard]] Workspace& workspace() const { return workspace_; }

 private:
  Workspace& workspace_;
  QString need_;
};

}  // namespace fourbeat::ui
