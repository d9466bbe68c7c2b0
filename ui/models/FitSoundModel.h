// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "models/RowModel.h"

#include "fourbeat/work/fit_groups.h"

namespace fourbeat::ui {

class Workspace;

/// One row of the fit table: a sound, or all chuffs (id 0).
struct FitRow {
  qint64 id = 0;  ///< of the sound; 0: the chuff table
  work::FitGroup group;
  bool operator==(const FitRow&) const = default;
};

/// What each sound takes of the decoder, most bytes first, as the newest check has it. Importance
/// is the project's own and can be edited.
class FitSoundModel : public RowModel<FitRow> {
  Q_OBJECT
 public:
  enum Column {
    nameColumn,
    rateColumn,
    bitsColumn,
    bytesColumn,
    shareColumn,
    lossColumn,
    importanceColumn,
    soundingColumn
  };
  static constexpr int columns = soundingColumn + 1;

  explicit FitSoundModel(Workspace& workspace, QObject* parent = nullptr);

  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;
  bool setData(const QModelIndex& index, const QVariant& value, int role) override;

  /// A row's name, as shown.
  [[nodiscard]] static QString nameOf(const work::FitGroup& group);

 private:
  void refresh();
  [[nodiscard]] double importance(const FitRow& row) const;
  [[nodiscard]] QString shown(const FitRow& row, int column) const;

  Workspace& workspace_;
};

}  // namespace fourbeat::ui
