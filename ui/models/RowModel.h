// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QAbstractTableModel>
#include <algorithm>
#include <vector>

namespace fourbeat::ui {

/// A table of rows that are values with an id. setRows() brings it to another list by removes,
/// moves and inserts, so that views keep their selection and their place.
/// Row must have operator== and a member `id` with operator==.
template <class Row>
class RowModel : public QAbstractTableModel {
 public:
  using QAbstractTableModel::QAbstractTableModel;

  [[nodiscard]] const std::vector<Row>& rows() const { return rows_; }
  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override {
    return parent.isValid() ? 0 : static_cast<int>(rows_.size());
  }
  /// The row of an index, or null.
  [[nodiscard]] const Row* rowAt(const QModelIndex& index) const {
    if (!index.isValid() || index.row() >= rowCount()) return nullptr;
    return &rows_[static_cast<std::size_t>(index.row())];
  }
  /// The row of an id, or -1.
  template <class RowId>
  [[nodiscard]] int rowOf(const RowId& id) const {
    const auto found =
        std::find_if(rows_.begin(), rows_.end(), [&](const Row& row) { return row.id == id; });
    return found == rows_.end() ? -1 : static_cast<int>(found - rows_.begin());
  }

 protected:
  void setRows(std::vector<Row> wanted) {
    const auto has = [](const std::vector<Row>& list, const Row& row) {
      return std::any_of(list.begin(), list.end(),
                         [&](const Row& other) { return other.id == row.id; });
    };
    for (int i = rowCount() - 1; i >= 0; --i) {
      if (has(wanted, rows_[static_cast<std::size_t>(i)])) continue;
      beginRemoveRows({}, i, i);
      rows_.erase(rows_.begin() + i);
      endRemoveRows();
    }
    for (int i = 0; i < static_cast<int>(wanted.size()); ++i) {
      const int from = rowOf(wanted[static_cast<std::size_t>(i)].id);
      if (from == i) continue;
      if (from < 0) {
        beginInsertRows({}, i, i);
        rows_.insert(rows_.begin() + i, wanted[static_cast<std::size_t>(i)]);
        endInsertRows();
      } else {
        beginMoveRows({}, from, from, {}, i);
        std::rotate(rows_.begin() + i, rows_.begin() + from, rows_.begin() + from + 1);
        endMoveRows();
      }
    }
    for (int i = 0; i < rowCount(); ++i) {
      Row& row = rows_[static_cast<std::size_t>(i)];
      if (row == wanted[static_cast<std::size_t>(i)]) continue;
      row = wanted[static_cast<std::size_t>(i)];
      Q_EMIT dataChanged(index(i, 0), index(i, columnCount() - 1));
    }
  }
  /// What is shown beside the rows' own values has changed.
  void touch(int firstColumn, int lastColumn) {
    if (rows_.empty()) return;
    Q_EMIT dataChanged(index(0, firstColumn), index(rowCount() - 1, lastColumn));
  }

 private:
  std::vector<Row> rows_;
};

/// Roles that CellDelegate reads to choose the editor of a cell.
enum CellRole {
  choicesRole = Qt::UserRole + 100,  ///< QStringList; the cell's EditRole is an index into it
  rangeRole                          ///< QPointF: least and greatest number
};

}  // namespace fourbeat::ui
