// SPDX-License-Identifier: GPL-3.0-or-later
#include "FitSoundModel.h"

#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/model/members.h"

#include <QLocale>
#include <QPointF>

namespace fourbeat::ui {

namespace {

QString spread(int least, int greatest) {
  const QLocale locale;
  return least == greatest
             ? locale.toString(least)
             : QStringLiteral("%1–%2").arg(locale.toString(least), locale.toString(greatest));
}

}  // namespace

FitSoundModel::FitSoundModel(Workspace& workspace, QObject* parent)
    : RowModel(parent), workspace_(workspace) {
  connect(&workspace.document(), &Document::changed, this,
          [this] { touch(nameColumn, importanceColumn); });
  connect(&workspace.live(), &LiveCheck::updated, this, &FitSoundModel::refresh);
  refresh();
}

void FitSoundModel::refresh() {
  std::vector<FitRow> rows;
  if (const auto checked = workspace_.live().checked(); checked && checked->fitted) {
    for (work::FitGroup& group : work::fit_groups(workspace_.project(), *checked->fitted)) {
      const qint64 id = group.sound.value();
      rows.push_back({id, std::move(group)});
    }
  }
  setRows(std::move(rows));
}

QString FitSoundModel::nameOf(const work::FitGroup& group) {
  return group.sound.is_set() ? text(group.name) : tr("All chuffs");
}

double FitSoundModel::importance(const FitRow& row) const {
  if (!row.group.sound.is_set()) return workspace_.project().chuffs.importance;
  const model::Sound* sound = model::find(workspace_.project(), row.group.sound);
  return sound == nullptr ? row.group.importance : sound->importance;
}

int FitSoundModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

QString FitSoundModel::shown(const FitRow& row, int column) const {
  const QLocale locale;
  const work::FitGroup& group = row.group;
  switch (column) {
    case nameColumn:
      return nameOf(group);
    case rateColumn:
      return tr("%1 Hz").arg(spread(group.least_rate_hz, group.greatest_rate_hz));
    case bitsColumn:
      return tr("%1 bit").arg(spread(group.least_bits, group.greatest_bits));
    case bytesColumn:
      return locale.toString(static_cast<qlonglong>(group.bytes));
    case shareColumn: {
      const auto checked = workspace_.live().checked();
      if (!checked || !checked->fitted || checked->fitted->fit.bytes_available <= 0) return {};
      const double percent = 100.0 * static_cast<double>(group.bytes) /
                             static_cast<double>(checked->fitted->fit.bytes_available);
      return tr("%1 %").arg(locale.toString(percent, 'f', 1));
    }
    case lossColumn:
      return decibelText(group.worst_loss_db);
    case importanceColumn:
      return locale.toString(importance(row), 'f', 1);
    default:
      return tr("%1 s").arg(locale.toString(group.sounding_s, 'f', 1));
  }
}

QVariant FitSoundModel::data(const QModelIndex& index, int role) const {
  const FitRow* row = rowAt(index);
  if (row == nullptr) return {};
  const int column = index.column();
  switch (role) {
    case Qt::DisplayRole:
      return shown(*row, column);
    case Qt::AccessibleTextRole:
      return tr("%1: %2").arg(headerData(column, Qt::Horizontal, Qt::DisplayRole).toString(),
                              shown(*row, column));
    case Qt::ToolTipRole:
      if (column == nameColumn)
        return tr("%1; pieces stored: %2").arg(nameOf(row->group)).arg(row->group.pieces.size());
      return headerData(column, Qt::Horizontal, Qt::ToolTipRole);
    case Qt::TextAlignmentRole:
      return QVariant::fromValue(Qt::Alignment(
          (column == nameColumn ? Qt::AlignLeft : Qt::AlignRight) | Qt::AlignVCenter));
    case Qt::EditRole:
      return column == importanceColumn ? QVariant(importance(*row)) : shown(*row, column);
    case rangeRole:
      if (column != importanceColumn) return {};
      return QPointF(model::importance_rule.low, model::importance_rule.high);
    default:
      return {};
  }
}

QVariant FitSoundModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal) return {};
  if (role == Qt::TextAlignmentRole)
    return QVariant::fromValue(
        Qt::Alignment((section == nameColumn ? Qt::AlignLeft : Qt::AlignRight) | Qt::AlignVCenter));
  const bool tip = role == Qt::ToolTipRole;
  if (role != Qt::DisplayRole && !tip) return {};
  switch (section) {
    case nameColumn:
      return tip ? tr("The sound that takes the memory") : tr("Sound");
    case rateColumn:
      return tip ? tr("Sample rate it is stored at") : tr("Rate");
    case bitsColumn:
      return tip ? tr("Depth of a sample") : tr("Depth");
    case bytesColumn:
      return tip ? tr("Bytes of the decoder's memory, whole sectors") : tr("Bytes");
    case shareColumn:
      return tip ? tr("Of the decoder's whole memory") : tr("Memory");
    case lossColumn:
      return tip ? tr("A-weighted, against the original: the worst of its pieces. More negative "
                      "is better.")
                 : tr("Loss");
    case importanceColumn:
      return tip ? tr("How much its loss counts in the fit, 0.1 to 10. Double click to change it.")
                 : tr("Importance");
    case soundingColumn:
      return tip ? tr("How long it sounds in the set's run cards") : tr("Sounding");
    default:
      return {};
  }
}

Qt::ItemFlags FitSoundModel::flags(const QModelIndex& index) const {
  const Qt::ItemFlags flags = QAbstractTableModel::flags(index);
  return index.isValid() && index.column() == importanceColumn ? flags | Qt::ItemIsEditable : flags;
}

bool FitSoundModel::setData(const QModelIndex& index, const QVariant& value, int role) {
  const FitRow* row = rowAt(index);
  if (row == nullptr || role != Qt::EditRole || index.column() != importanceColumn) return false;
  const double wanted = value.toDouble();
  if (wanted == importance(*row)) return true;
  const QString what = tr("Change importance of %1").arg(nameOf(row->group));
  if (!row->group.sound.is_set()) {
    model::ChuffTable table = workspace_.project().chuffs;
    table.importance = wanted;
    return workspace_.perform(what, {model::SetChuffTable{std::move(table)}});
  }
  const model::Sound* found = model::find(workspace_.project(), row->group.sound);
  if (found == nullptr) return false;
  model::Sound sound = *found;
  sound.importance = wanted;
  return workspace_.perform(what, {model::Replace<model::Sound>{std::move(sound)}});
}

}  // namespace fourbeat::ui
