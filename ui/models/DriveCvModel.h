// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"

#include <QAbstractTableModel>
#include <QString>
#include <vector>

namespace fourbeat::ui {

/// The CVs of a set that an effect or an option of it uses, with the values they have in a drive:
/// those under EditRole alone, for a field lies over them.
class DriveCvModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  enum Column { numberColumn, changesColumn, valueColumn };
  static constexpr int columns = valueColumn + 1;

  struct Row {
    int number = 0;
    QString changes;
    int value = 0;
  };

  using QAbstractTableModel::QAbstractTableModel;

  /// Values as the set ships with; 0 where only an option names the CV.
  void setProject(const model::Project& project);
  [[nodiscard]] const Row& row(int row) const { return rows_[static_cast<std::size_t>(row)]; }
  void setValue(int row, int value);

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;

 private:
  std::vector<Row> rows_;
};

}  // namespace fourbeat::ui
