// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/loop_finder.h"

#include <QAbstractTableModel>
#include <vector>

namespace fourbeat::ui {

/// Loops that were found for a segment, best first.
class LoopCandidateModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  enum Column {
    placeColumn,  ///< with a tick where it is the segment's own loop
    lengthColumn,
    seamColumn,
    rankColumn,
    crossfadeColumn,
    driftColumn,
    tellColumn,
    scoreColumn,
    columns
  };

  using QAbstractTableModel::QAbstractTableModel;

  void setCandidates(std::vector<dsp::LoopCandidate> candidates, double sampleRateHz);
  /// Marks the candidate that is in use as the segment's own loop; -1 for none.
  void setInUse(int row);
  /// Null where there is no such row.
  [[nodiscard]] const dsp::LoopCandidate* candidate(int row) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;

 private:
  [[nodiscard]] static QString explained(int column);

  std::vector<dsp::LoopCandidate> candidates_;
  double sampleRateHz_ = 1.0;
  int inUse_ = -1;
};

}  // namespace fourbeat::ui
