// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/work/chuff_quality.h"

#include <QAbstractTableModel>
#include <vector>

namespace fourbeat::ui {

class Workspace;

/// The revolutions a chuff row could play, best first, as the last build found them; those it plays
/// have a tick.
class RevolutionModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  enum Column {
    takeColumn,
    placeColumn,
    speedColumn,
    qualityColumn,
    reasonColumn,
    signalColumn,
    endColumn,
    accentColumn,
    columns
  };

  explicit RevolutionModel(Workspace& workspace, QObject* parent = nullptr);

  void setCandidates(std::vector<work::RevolutionCandidate> candidates, Id<model::ChuffRow> row);
  /// Null where there is no such row.
  [[nodiscard]] const work::RevolutionCandidate* candidate(int row) const;
  /// Which of the chuff row's revolutions a candidate is; -1: it is not played.
  [[nodiscard]] int placeInRow(int row) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;

 private:
  void refresh();
  [[nodiscard]] QString shown(const work::RevolutionCandidate& candidate, int column) const;
  [[nodiscard]] static QString explained(int column);

  Workspace& workspace_;
  Id<model::ChuffRow> row_;
  std::vector<work::RevolutionCandidate> candidates_;
};

}  // namespace fourbeat::ui
