// SPDX-License-Identifier: GPL-3.0-or-later
#include "CvTableModel.h"

#include "CvWording.h"
#include "SnagLines.h"
#include "Theme.h"

#include "fourbeat/model/members.h"

#include <QPointF>
#include <algorithm>

namespace fourbeat::ui {

CvTableModel::CvTableModel(Workspace& workspace, QObject* parent)
    : RowModel(parent), workspace_(workspace) {
  Result<std::vector<store::CvDefinition>> read = store::load_cv_definitions();
  if (read) {
    definitions_ = std::move(*read);
  } else {
    workspace.tell(read.error());
  }
  connect(&workspace.document(), &Document::changed, this, &CvTableModel::refresh);
  connect(&workspace.live(), &LiveCheck::updated, this, &CvTableModel::refreshSnags);
  refresh();
  refreshSnags();
}

const store::CvDefinition* CvTableModel::definition(int number) const {
  const auto found = std::lower_bound(
      definitions_.begin(), definitions_.end(), number,
      [](const store::CvDefinition& each, int wanted) { return each.number < wanted; });
  return found == definitions_.end() || found->number != number ? nullptr : &*found;
}

QString CvTableModel::standardName(int number) const {
  const store::CvDefinition* found = definition(number);
  return found == nullptr ? QString() : text(found->name);
}

int CvTableModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

void CvTableModel::refresh() {
  std::vector<model::Cv> cvs = workspace_.project().cvs;
  std::stable_sort(cvs.begin(), cvs.end(),
                   [](const model::Cv& a, const model::Cv& b) { return a.number < b.number; });
  setRows(std::move(cvs));
  touch(meaningColumn, meaningColumn);  // options and names it speaks of may have changed
}

void CvTableModel::refreshSnags() {
  auto snags = snagLines(workspace_.live(), QLatin1String("cvs"), workspace_.project().cvs);
  if (!snags || *snags == snags_) return;
  snags_ = std::move(*snags);
  touch(snagColumn, snagColumn);
}

QString CvTableModel::meaning(const model::Cv& cv) const {
  QString own = meaningText(workspace_.project(), cv);
  if (!own.isEmpty()) return own;
  const QString standard = standardName(cv.number);
  return standard == shown(cv, nameColumn) ? QString() : standard;
}

QString CvTableModel::shown(const model::Cv& cv, int column) const {
  switch (column) {
    case numberColumn:
      return tr("CV%1").arg(cv.number);
    case nameColumn:
      return cv.name.empty() ? standardName(cv.number) : text(cv.name);
    case valueColumn:
      return QString::number(cv.value);
    case allowedColumn: {
      const store::CvDefinition* found = definition(cv.number);
      if (found == nullptr) return tr("0 to 255");
      if (found->reserved) return tr("reserved");
      if (found->read_only) return tr("read only");
      return tr("%1 to %2").arg(found->min).arg(found->max);
    }
    case meaningColumn:
      return meaning(cv);
    case noteColumn:
      return text(cv.note);
    default:
      return snags_.value(cv.id.value()).section(QLatin1Char('\n'), 0, 0);
  }
}

QVariant CvTableModel::data(const QModelIndex& index, int role) const {
  const model::Cv* cv = rowAt(index);
  if (cv == nullptr) return {};
  const int column = index.column();
  switch (role) {
    case Qt::DisplayRole:
      return shown(*cv, column);
    case Qt::ToolTipRole:
      return column == snagColumn ? snags_.value(cv->id.value()) : shown(*cv, column);
    case Qt::AccessibleTextRole:
      return tr("%1: %2").arg(headerData(column, Qt::Horizontal, Qt::DisplayRole).toString(),
                              shown(*cv, column));
    case Qt::DecorationRole:
      if (column == snagColumn && snags_.contains(cv->id.value()))
        return Theme::instance().icon(QStringLiteral("warning"), Theme::Ink::warning);
      return {};
    case Qt::EditRole:
      if (column == numberColumn) return cv->number;
      if (column == valueColumn) return cv->value;
      return shown(*cv, column);
    case rangeRole:
      // What the standard forbids can be typed, and is a snag.
      if (column != numberColumn && column != valueColumn) return {};
      return QPointF(model::cv_rule.low, model::cv_rule.high);
    default:
      return {};
  }
}

QVariant CvTableModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  switch (section) {
    case numberColumn:
      return tr("CV");
    case nameColumn:
      return tr("Name");
    case valueColumn:
      return tr("Value");
    case allowedColumn:
      return tr("Allowed");
    case meaningColumn:
      return tr("Meaning");
    case noteColumn:
      return tr("Note");
    case snagColumn:
      return tr("Snags");
    default:
      return {};
  }
}

Qt::ItemFlags CvTableModel::flags(const QModelIndex& index) const {
  const Qt::ItemFlags flags = QAbstractTableModel::flags(index);
  const bool fixed = index.column() == allowedColumn || index.column() == meaningColumn ||
                     index.column() == snagColumn;
  return index.isValid() && !fixed ? flags | Qt::ItemIsEditable : flags;
}

bool CvTableModel::setData(const QModelIndex& index, const QVariant& value, int role) {
  const model::Cv* before = rowAt(index);
  if (before == nullptr || role != Qt::EditRole) return false;
  model::Cv cv = *before;
  switch (index.column()) {
    case numberColumn:
      cv.number = value.toInt();
      break;
    case nameColumn:
      // The standard's own name needs no copy.
      cv.name = value.toString() == standardName(cv.number) ? cv.name : utf8(value.toString());
      break;
    case valueColumn:
      cv.value = value.toInt();
      break;
    case noteColumn:
      cv.note = utf8(value.toString());
      break;
    default:
      return false;
  }
  if (cv == *before) return true;
  return workspace_.perform(tr("Change CV%1").arg(before->number),
                            {model::Replace<model::Cv>{std::move(cv)}});
}

}  // namespace fourbeat::ui
