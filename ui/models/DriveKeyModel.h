// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/project.h"

#include <QAbstractTableModel>
#include <QKeySequence>
#include <QString>
#include <vector>

namespace fourbeat::ui {

/// The keys of a set as they are driven: one row a number, whatever its uses.
class DriveKeyModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  enum Column { shortcutColumn, labelColumn, numberColumn, mannerColumn, stateColumn };
  static constexpr int columns = stateColumn + 1;

  struct Row {
    int number = 0;
    QString label;
    bool momentary = false;  ///< one of its uses is
    int shortcut = 0;        ///< Qt::Key; 0: none left
    bool on = false;
  };

  using QAbstractTableModel::QAbstractTableModel;

  /// All keys off. F0 to F9 have their digit; the others letters, in their order.
  void setProject(const model::Project& project);
  void setOn(int row, bool on);
  [[nodiscard]] const Row& row(int row) const { return rows_[static_cast<std::size_t>(row)]; }
  /// The row of a Qt::Key, or -1.
  [[nodiscard]] int rowOfShortcut(int key) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;

 private:
  std::vector<Row> rows_;
};

}  // namespace fourbeat::ui
