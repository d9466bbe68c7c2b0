// SPDX-License-Identifier: GPL-3.0-or-later
#include "ChuffRowModel.h"

#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include <QLocale>

namespace fourbeat::ui {

namespace {

std::size_t chuffCount(const model::ChuffRow& row) {
  std::size_t count = 0;
  for (const model::Revolution& revolution : row.revolutions)
    count += revolution.chuffs.size();
  return count;
}

/// Mean length of a row's chuffs in seconds; 0 where there is none.
double meanLengthS(const model::Project& project, const model::ChuffRow& row) {
  double sum_s = 0.0;
  for (const model::Revolution& revolution : row.revolutions) {
    const model::Take* take = revolution.source.mix.empty()
                                  ? nullptr
                                  : model::find(project, revolution.source.mix.front().take);
    if (take == nullptr) continue;
    for (const model::Chuff& chuff : revolution.chuffs) {
      sum_s +=
          static_cast<double>(chuff.range.length().value()) / std::max(1, take->sample_rate_hz);
    }
  }
  const std::size_t count = chuffCount(row);
  return count > 0 ? sum_s / static_cast<double>(count) : 0.0;
}

}  // namespace

ChuffRowModel::ChuffRowModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace,
                  {tr("From"), tr("To"), tr("Effort"), tr("Revolutions"), tr("Chuffs"),
                   tr("Mean length"), tr("State")},
                  parent) {
  connect(&workspace.live(), &LiveCheck::updated, this, &ChuffRowModel::refresh);
  refresh();
}

QVector<qint64> ChuffRowModel::idsNow() const {
  QVector<qint64> ids;
  for (const model::ChuffRow& row : workspace().project().chuffs.rows)
    ids.append(row.id.value());
  return ids;
}

QVariant ChuffRowModel::cell(qint64 id, int column, int role) const {
  const model::ChuffRow* row = model::find(workspace().project(), Id<model::ChuffRow>(id));
  if (row == nullptr) return {};
  if (column == stateColumn) {
    const auto checked = workspace().live().checked();
    const bool broken = checked && checked->facts.chuff_errors.count(row->id) > 0;
    const Theme& theme = Theme::instance();
    if (role == Qt::DecorationRole) {
      if (!checked) return theme.icon(QStringLiteral("unknown"), Theme::Ink::mutedText);
      if (broken) return theme.icon(QStringLiteral("error"), Theme::Ink::error);
      return row->derived ? theme.icon(QStringLiteral("hint"), Theme::Ink::hint)
                          : theme.icon(QStringLiteral("good"), Theme::Ink::good);
    }
    if (role == Qt::ToolTipRole && broken) {
      return errorLine(checked->facts.chuff_errors.at(row->id));
    }
    if (role != Qt::DisplayRole) return {};
    if (!checked) return tr("Not rendered yet");
    if (broken) return tr("Cannot be rendered");
    if (row->derived) return tr("Derived from %1").arg(speedText(row->derived->recorded_kmh));
    return row->fused ? tr("Recorded, beats fused") : tr("Recorded");
  }
  if (role == Qt::TextAlignmentRole && column != effortColumn) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  if (role != Qt::DisplayRole && role != Qt::EditRole) return {};
  const bool plain = role == Qt::EditRole;
  switch (column) {
    case fromColumn:
      return plain ? QVariant(row->from_kmh) : QVariant(speedText(row->from_kmh));
    case toColumn:
      return plain ? QVariant(row->to_kmh) : QVariant(speedText(row->to_kmh));
    case effortColumn:
      if (plain) return static_cast<int>(row->effort);
      return row->condition == model::Condition::normal
                 ? word(row->effort)
                 : tr("%1, %2").arg(word(row->effort), word(row->condition));
    case revolutionsColumn:
      return static_cast<qlonglong>(row->revolutions.size());
    case chuffsColumn:
      return static_cast<qlonglong>(chuffCount(*row));
    case lengthColumn:
      if (row->fused) return tr("loop");
      return tr("%1 ms").arg(
          QLocale().toString(1000.0 * meanLengthS(workspace().project(), *row), 'f', 0));
    default:
      return {};
  }
}

bool ChuffRowModel::canEdit(qint64 id, int column) const {
  return id != 0 && column <= effortColumn;
}

bool ChuffRowModel::edit(qint64 id, int column, const QVariant& value) {
  const model::ChuffRow* row = model::find(workspace().project(), Id<model::ChuffRow>(id));
  if (row == nullptr) return false;
  model::ChuffRow changed = *row;
  if (column == fromColumn) changed.from_kmh = value.toDouble();
  if (column == toColumn) changed.to_kmh = value.toDouble();
  if (column == effortColumn) changed.effort = static_cast<model::Effort>(value.toInt());
  return workspace().perform(tr("Change chuff row"), {model::Replace<model::ChuffRow>{changed}});
}

}  // namespace fourbeat::ui
