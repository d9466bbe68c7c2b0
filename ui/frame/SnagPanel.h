// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QPointer>
#include <QWidget>

class QLabel;
class QListView;

namespace fourbeat::ui {

class SnagListModel;
class Workspace;

/// Every snag of the project, each one click from its place; the mend of the chosen one below.
class SnagPanel : public QWidget {
  Q_OBJECT
 public:
  explicit SnagPanel(QWidget* parent = nullptr);

  /// The project shown; null: none.
  void setWorkspace(Workspace* workspace);
  [[nodiscard]] SnagListModel& model() const { return *model_; }
  /// "2 errors, 1 warning", or "No snags".
  [[nodiscard]] QString summary() const;

 Q_SIGNALS:
  void summaryChanged();

 private:
  void refresh();
  void showMend();

  QPointer<Workspace> workspace_;
  SnagListModel* model_;
  QLabel* state_;
  QListView* list_;
  QLabel* mend_;
};

}  // namespace fourbeat::ui
