// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveCvModel.h"

#include "CvWording.h"

#include "fourbeat/model/cv_values.h"

#include <set>

namespace fourbeat::ui {

void DriveCvModel::setProject(const model::Project& project) {
  std::set<int> numbers;
  for (const model::Cv& cv : project.cvs) {
    if (cv.effect) numbers.insert(cv.number);
  }
  for (const model::Option& option : project.options) {
    if (option.cv > 0) numbers.insert(option.cv);
  }
  beginResetModel();
  rows_.clear();
  for (const int number : numbers) {
    model::Cv plain;
    plain.number = number;
    const model::Cv* found = &plain;
    for (const model::Cv& cv : project.cvs) {
      if (cv.number == number) found = &cv;
    }
    rows_.push_back({number, meaningText(project, *found), found->value});
  }
  endResetModel();
}

void DriveCvModel::setValue(int row, int value) {
  rows_[static_cast<std::size_t>(row)].value = value;
  Q_EMIT dataChanged(index(row, valueColumn), index(row, valueColumn));
}

int DriveCvModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(rows_.size());
}

int DriveCvModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

QVariant DriveCvModel::data(const QModelIndex& index, int role) const {
  if (!index.isValid() || index.row() >= rowCount()) return {};
  const Row& row = rows_[static_cast<std::size_t>(index.row())];
  if (index.column() == valueColumn) return role == Qt::EditRole ? row.value : QVariant();
  if (role != Qt::DisplayRole && role != Qt::ToolTipRole) return {};
  switch (index.column()) {
    case numberColumn:
      return tr("CV%1").arg(row.number);
    case changesColumn:
      return row.changes;
    default:
      return {};
  }
}

QVariant DriveCvModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  switch (section) {
    case numberColumn:
      return tr("CV");
    case changesColumn:
      return tr("What it changes");
    case valueColumn:
      return tr("Value");
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
