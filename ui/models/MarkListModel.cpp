// SPDX-License-Identifier: GPL-3.0-or-later
#include "MarkListModel.h"

#include "Wording.h"
#include "Workspace.h"

#include <QLocale>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

MarkListModel::MarkListModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace, {tr("Kind"), tr("Label"), tr("Start"), tr("Length")}, parent) {
  refresh();
}

void MarkListModel::setTake(Id<model::Take> take) {
  take_ = take;
  refresh();
}

QVector<qint64> MarkListModel::idsNow() const {
  QVector<qint64> ids;
  for (const model::Mark& mark : workspace().project().marks) {
    if (mark.take == take_) ids.append(mark.id.value());
  }
  return ids;
}

QVariant MarkListModel::cell(qint64 id, int column, int role) const {
  const model::Mark* mark = model::find(workspace().project(), Id<model::Mark>(id));
  if (mark == nullptr) return {};
  const model::Take* take = model::find(workspace().project(), mark->take);
  const double rate = take != nullptr ? std::max(1, take->sample_rate_hz) : 1.0;
  if (role == Qt::TextAlignmentRole && column >= startColumn) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  if (role == Qt::EditRole && column == kindColumn) return static_cast<int>(mark->kind);
  if (role == Qt::EditRole && column == startColumn)
    return static_cast<double>(mark->range.start.value()) / rate;
  if (role == Qt::EditRole && column == lengthColumn)
    return static_cast<double>(mark->range.length().value()) / rate;
  if (role != Qt::DisplayRole && role != Qt::EditRole) return {};
  switch (column) {
    case kindColumn:
      return word(mark->kind);
    case labelColumn:
      return text(mark->label);
    case startColumn:
      return timeText(static_cast<double>(mark->range.start.value()) / rate, 3);
    case lengthColumn:
      return mark->range.empty()
                 ? tr("Point")
                 : tr("%1 s").arg(QLocale().toString(
                       static_cast<double>(mark->range.length().value()) / rate, 'f', 3));
    default:
      return {};
  }
}

bool MarkListModel::canEdit(qint64 id, int) const {
  return id != 0;
}

bool MarkListModel::edit(qint64 id, int column, const QVariant& value) {
  const model::Mark* mark = model::find(workspace().project(), Id<model::Mark>(id));
  if (mark == nullptr) return false;
  const model::Take* take = model::find(workspace().project(), mark->take);
  if (take == nullptr) return false;
  model::Mark changed = *mark;
  // The start takes the mark along, the length moves its end; both held to the take.
  const FrameCount given(std::llround(value.toDouble() * take->sample_rate_hz));
  switch (column) {
    case kindColumn:
      changed.kind = static_cast<model::MarkKind>(value.toInt());
      break;
    case labelColumn:
      changed.label = utf8(value.toString());
      break;
    case startColumn: {
      const FrameCount start =
          std::clamp(given, FrameCount(0), take->frames - mark->range.length());
      changed.range = {FrameIndex(0) + start, FrameIndex(0) + start + mark->range.length()};
      break;
    }
    default:
      changed.range.end =
          std::clamp(mark->range.start + given, mark->range.start, FrameIndex(0) + take->frames);
  }
  if (changed == *mark) return false;
  return workspace().perform(tr("Change mark"), {model::Replace<model::Mark>{changed}});
}

}  // namespace fourbeat::ui
