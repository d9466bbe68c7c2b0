// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/take.h"

#include <QWidget>

class QComboBox;
class QLineEdit;
class QPushButton;
class QTableView;

namespace fourbeat::ui {

class MarkListModel;
class TrackView;
class Workspace;

/// The marks of the chosen take: added from the selection of the track, renamed, removed.
class MarkPanel : public QWidget {
  Q_OBJECT
 public:
  MarkPanel(Workspace& workspace, TrackView& track, QWidget* parent = nullptr);

  void setTake(Id<model::Take> take);
  /// Selects a mark, and brings it into view on the track.
  void choose(Id<model::Mark> mark);
  /// Adds a mark over the selection of the track, or at its playhead.
  void addMark();
  void removeMark();
  [[nodiscard]] QTableView* table() const { return table_; }

 private:
  void refresh();

  Workspace& workspace_;
  TrackView& track_;
  MarkListModel* model_;
  QComboBox* kind_;
  QLineEdit* label_;
  QPushButton* add_;
  QPushButton* remove_;
  QTableView* table_;
  Id<model::Take> take_;
};

}  // namespace fourbeat::ui
