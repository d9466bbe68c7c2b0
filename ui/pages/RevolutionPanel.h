// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/work/chuff_builder.h"

#include <QWidget>
#include <map>
#include <vector>

class QLabel;
class QPushButton;
class QTableView;

namespace fourbeat::ui {

class RevolutionModel;
class Workspace;

/// The chosen row's revolutions and those it could play in their place, with what speaks for and
/// against each; to be heard, put in and taken out.
class RevolutionPanel : public QWidget {
  Q_OBJECT
 public:
  explicit RevolutionPanel(Workspace& workspace, QWidget* parent = nullptr);

  /// What a build found, for the rows that the project has now.
  void setBuild(const work::ChuffBuild& build);
  void setRow(Id<model::ChuffRow> row);
  /// Puts the chosen candidate in the place of the row's weakest revolution, or of the one that
  /// was chosen last in the list.
  void swapIn();
  /// Plays it beside the others, or takes it out.
  void add();
  void takeOut();
  void hear();
  [[nodiscard]] Id<model::ChuffRow> row() const { return row_; }
  [[nodiscard]] QTableView* table() const { return table_; }
  [[nodiscard]] RevolutionModel& candidates() const { return *model_; }

 Q_SIGNALS:
  /// What else the shown row could play is to be looked for.
  void othersWanted();

 private:
  void refresh();
  [[nodiscard]] int weakestInRow() const;

  Workspace& workspace_;
  RevolutionModel* model_;
  QTableView* table_;
  QLabel* note_;
  QPushButton* hear_;
  QPushButton* swap_;
  QPushButton* add_;
  QPushButton* out_;
  QPushButton* others_;
  Id<model::ChuffRow> row_;
  std::map<Id<model::ChuffRow>, std::vector<work::RevolutionCandidate>> found_;
};

}  // namespace fourbeat::ui
