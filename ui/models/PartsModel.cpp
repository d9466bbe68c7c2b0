// SPDX-License-Identifier: GPL-3.0-or-later
#include "PartsModel.h"

#include <QLocale>

namespace fourbeat::ui {

PartsModel::PartsModel(std::vector<PartColumn> columns, Change change, QObject* parent)
    : QAbstractTableModel(parent), columns_(std::move(columns)), change_(std::move(change)) {}

void PartsModel::show(QVector<QVariantList> rows) {
  const auto had = static_cast<int>(rows_.size());
  const auto has = static_cast<int>(rows.size());
  if (has < had) {
    beginRemoveRows({}, has, had - 1);
    rows_.resize(has);
    endRemoveRows();
  } else if (has > had) {
    beginInsertRows({}, had, has - 1);
    rows_.append(rows.mid(had));
    endInsertRows();
  }
  rows_ = std::move(rows);
  if (!rows_.isEmpty()) Q_EMIT dataChanged(index(0, 0), index(rowCount() - 1, columnCount() - 1));
}

int PartsModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(rows_.size());
}

int PartsModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(columns_.size());
}

QString PartsModel::shown(int column, const QVariant& value) const {
  const PartColumn& kind = columns_.at(static_cast<std::size_t>(column));
  if (kind.words) return value.toString();
  if (!kind.choices)
    return QLocale().toString(value.toDouble(), 'f', kind.number.decimals) + kind.number.suffix;
  for (const auto& [words, choice] : kind.choices()) {
    if (choice == value) return words;
  }
  return {};
}

QVariant PartsModel::data(const QModelIndex& index, int role) const {
  if (!index.isValid() || index.row() >= rowCount()) return {};
  const QVariant& value = rows_[index.row()][index.column()];
  switch (role) {
    case Qt::DisplayRole:
      return shown(index.column(), value);
    case Qt::EditRole:
      return value;
    case Qt::AccessibleTextRole:
      return QStringLiteral("%1: %2").arg(
          columns_.at(static_cast<std::size_t>(index.column())).header,
          shown(index.column(), value));
    default:
      return {};
  }
}

QVariant PartsModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole || section < 0 ||
      section >= columnCount()) {
    return {};
  }
  return columns_.at(static_cast<std::size_t>(section)).header;
}

Qt::ItemFlags PartsModel::flags(const QModelIndex& index) const {
  const Qt::ItemFlags flags = QAbstractTableModel::flags(index);
  return index.isValid() ? flags | Qt::ItemIsEditable : flags;
}

bool PartsModel::setData(const QModelIndex& index, const QVariant& value, int role) {
  if (!index.isValid() || index.row() >= rowCount() || role != Qt::EditRole) return false;
  if (value == rows_[index.row()][index.column()]) return true;
  return change_(index.row(), index.column(), value);
}

}  // namespace fourbeat::ui
