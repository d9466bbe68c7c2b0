// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

#include "fourbeat/model/chuff_table.h"

#include <QSet>

class QListWidget;
class QPushButton;
class QStackedWidget;
class QTabWidget;
class QTableView;

namespace fourbeat::ui {

class ChuffHearing;
class BeatEditor;
class ChuffRowModel;
class ChuffTablePanel;
class RevolutionPanel;
class CoverageView;

/// The chuff table: built from takes, looked over, corrected, heard.
class ChuffsPage : public Page {
  Q_OBJECT
 public:
  explicit ChuffsPage(Workspace& workspace, QWidget* parent = nullptr);

  void reveal(const QString& pointer) override;
  [[nodiscard]] bool shows(const QString& pointer) const override;
  void entered() override;
  void playRequested() override;

  [[nodiscard]] Id<model::ChuffRow> chosen() const { return row_; }
  void choose(Id<model::ChuffRow> row);

 private:
  void makeLayout();
  void makeKeys();
  void refresh();
  void refreshTakes();
  void refreshNeed();
  void rowChosen();
  void build();
  /// Fills the revolutions to choose from, for the table as it is.
  void findOthers();
  void removeRow();
  void takeChosen();
  [[nodiscard]] std::vector<Id<model::Take>> takesChosen() const;

  ChuffRowModel* model_;
  QListWidget* takes_;
  QPushButton* build_;
  QStackedWidget* stack_;
  QTableView* table_;
  QPushButton* remove_;
  CoverageView* coverage_;
  ChuffHearing* hearing_;
  RevolutionPanel* revolutions_;
  BeatEditor* beats_;
  ChuffTablePanel* whole_;
  QTabWidget* tabs_;
  Id<model::ChuffRow> row_;
  QSet<qint64> known_;  ///< takes that the list has shown
};

}  // namespace fourbeat::ui
