// SPDX-License-Identifier: GPL-3.0-or-later
#include "EntityModel.h"

#include "Workspace.h"

#include <algorithm>

namespace fourbeat::ui {

EntityModel::EntityModel(Workspace& workspace, QStringList headers, QObject* parent)
    : QAbstractTableModel(parent), workspace_(workspace), headers_(std::move(headers)) {
  connect(&workspace.document(), &Document::changed, this, &EntityModel::refresh);
}

qint64 EntityModel::idAt(int row) const {
  return row >= 0 && row < ids_.size() ? ids_[row] : 0;
}

int EntityModel::rowOf(qint64 id) const {
  return static_cast<int>(ids_.indexOf(id));
}

int EntityModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(ids_.size());
}

int EntityModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(headers_.size());
}

QVariant EntityModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  return headers_.value(section);
}

QVariant EntityModel::data(const QModelIndex& index, int role) const {
  if (!index.isValid() || index.row() >= ids_.size()) return {};
  return cell(ids_[index.row()], index.column(), role);
}

Qt::ItemFlags EntityModel::flags(const QModelIndex& index) const {
  if (!index.isValid() || index.row() >= ids_.size()) return Qt::NoItemFlags;
  Qt::ItemFlags flags = Qt::ItemIsSelectable | Qt::ItemIsEnabled | Qt::ItemNeverHasChildren;
  if (canEdit(ids_[index.row()], index.column())) flags |= Qt::ItemIsEditable;
  return flags;
}

bool EntityModel::setData(const QModelIndex& index, const QVariant& value, int role) {
  if (role != Qt::EditRole || !index.isValid() || index.row() >= ids_.size()) return false;
  const qint64 id = ids_[index.row()];
  const int column = index.column();
  if (!canEdit(id, column)) return false;
  if (cell(id, column, Qt::EditRole) == value) return true;
  return edit(id, column, value);
}

bool EntityModel::canEdit(qint64 id, int column) const {
  (void)id;
  (void)column;
  return false;
}

bool EntityModel::edit(qint64 id, int column, const QVariant& value) {
  (void)id;
  (void)column;
  (void)value;
  return false;
}

void EntityModel::refresh() {
  const QVector<qint64> now = idsNow();
  const qsizetype shorter = std::min(ids_.size(), now.size());
  qsizetype head = 0;
  while (head < shorter && ids_[head] == now[head])
    ++head;
  qsizetype tail = 0;
  while (tail < shorter - head && ids_[ids_.size() - 1 - tail] == now[now.size() - 1 - tail])
    ++tail;
  if (const qsizetype gone = ids_.size() - head - tail; gone > 0) {
    beginRemoveRows({}, static_cast<int>(head), static_cast<int>(head + gone - 1));
    ids_.remove(head, gone);
    endRemoveRows();
  }
  if (const qsizetype come = now.size() - head - tail; come > 0) {
    beginInsertRows({}, static_cast<int>(head), static_cast<int>(head + come - 1));
    ids_ = now;
    endInsertRows();
  }
  if (!ids_.isEmpty() && !headers_.isEmpty()) {
    Q_EMIT dataChanged(index(0, 0), index(rowCount() - 1, columnCount() - 1));
  }
}

}  // namespace fourbeat::ui
