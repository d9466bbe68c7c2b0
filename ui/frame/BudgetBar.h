// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QPointer>
#include <QWidget>

class QLabel;
class QProgressBar;

namespace fourbeat::ui {

class Workspace;

/// Bytes and voices of the set against the decoder's limits, as figures; a click asks for the Fit
/// page.
class BudgetBar : public QWidget {
  Q_OBJECT
 public:
  explicit BudgetBar(QWidget* parent = nullptr);

  void setWorkspace(Workspace* workspace);
  /// As shown: "Memory 2.33 of 3.60 MiB · voices 3 of 5".
  [[nodiscard]] QString figures() const;

 Q_SIGNALS:
  void activated();

 protected:
  void mouseReleaseEvent(QMouseEvent* event) override;
  void keyPressEvent(QKeyEvent* event) override;
  void paintEvent(QPaintEvent* event) override;

 private:
  void refresh();

  QPointer<Workspace> workspace_;
  QLabel* sign_;
  QLabel* figures_;
  QProgressBar* used_;
};

}  // namespace fourbeat::ui
