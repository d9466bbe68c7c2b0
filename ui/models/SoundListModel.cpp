// SPDX-License-Identifier: GPL-3.0-or-later
#include "SoundListModel.h"

#include "Wording.h"
#include "Workspace.h"

#include <QLocale>
#include <cmath>
#include <utility>

namespace fourbeat::ui {

SoundListModel::SoundListModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace,
                  {tr("Sound"), tr("Category"), tr("Plays"), tr("Begin"), tr("Segment or hold"),
                   tr("Release"), tr("Gain"), tr("Priority"), tr("Importance")},
                  parent) {
  refresh();
}

QVector<qint64> SoundListModel::idsNow() const {
  QVector<qint64> ids;
  for (const model::Sound& sound : workspace().project().sounds)
    ids.append(sound.id.value());
  return ids;
}

QString SoundListModel::segmentName(qint64 id) const {
  const model::Segment* segment = model::find(workspace().project(), Id<model::Segment>(id));
  return segment != nullptr ? text(segment->name) : QStringLiteral("—");
}

QVariant SoundListModel::cell(qint64 id, int column, int role) const {
  const model::Sound* sound = model::find(workspace().project(), Id<model::Sound>(id));
  if (sound == nullptr) return {};
  if (role == Qt::TextAlignmentRole && column >= gainColumn) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  const bool named = column == nameColumn || (column >= beginColumn && column <= releaseColumn);
  if (role == Qt::ToolTipRole && named) role = Qt::DisplayRole;  // narrow columns cut names short
  if (role != Qt::DisplayRole && role != Qt::EditRole) return {};
  const bool plain = role == Qt::EditRole;
  const bool held = sound->kind == model::SoundKind::held;
  const auto part = [&](Id<model::Segment> segment) {
    return plain ? QVariant(static_cast<qlonglong>(segment.value()))
                 : QVariant(segmentName(segment.value()));
  };
  switch (column) {
    case nameColumn:
      return text(sound->name);
    case categoryColumn:
      return plain ? QVariant(static_cast<int>(sound->category)) : QVariant(word(sound->category));
    case kindColumn:
      if (plain) return static_cast<int>(sound->kind);
      return held ? tr("Held") : tr("Once");
    case beginColumn:
      return part(held ? sound->begin : Id<model::Segment>());
    case mainColumn:
      return part(held ? sound->hold : sound->segment);
    case releaseColumn:
      return part(held ? sound->release : Id<model::Segment>());
    case gainColumn:
      return plain ? QVariant(sound->gain_db) : QVariant(decibelText(sound->gain_db));
    case priorityColumn:
      return plain ? QVariant(static_cast<double>(sound->priority)) : QVariant(sound->priority);
    case importanceColumn:
      return plain ? QVariant(sound->importance)
                   : QVariant(QLocale().toString(sound->importance, 'f', 1));
    default:
      return {};
  }
}

bool SoundListModel::canEdit(qint64 id, int column) const {
  const model::Sound* sound = model::find(workspace().project(), Id<model::Sound>(id));
  if (sound == nullptr) return false;
  const bool part = column == beginColumn || column == releaseColumn;
  return !part || sound->kind == model::SoundKind::held;
}

bool SoundListModel::edit(qint64 id, int column, const QVariant& value) {
  const model::Sound* sound = model::find(workspace().project(), Id<model::Sound>(id));
  if (sound == nullptr) return false;
  model::Sound changed = *sound;
  const bool held = sound->kind == model::SoundKind::held;
  const Id<model::Segment> segment(value.toLongLong());
  switch (column) {
    case nameColumn:
      changed.name = utf8(value.toString().trimmed());
      break;
    case categoryColumn:
      changed.category = static_cast<model::Category>(value.toInt());
      break;
    case kindColumn:
      // What sounded goes on sounding: the one segment and the hold change places.
      changed.kind = static_cast<model::SoundKind>(value.toInt());
      if (held) {
        changed.segment = std::exchange(changed.hold, {});
        changed.begin = {};
        changed.release = {};
      } else {
        changed.hold = std::exchange(changed.segment, {});
      }
      break;
    case beginColumn:
      changed.begin = segment;
      break;
    case mainColumn:
      (held ? changed.hold : changed.segment) = segment;
      break;
    case releaseColumn:
      changed.release = segment;
      break;
    case gainColumn:
      changed.gain_db = value.toDouble();
      break;
    case priorityColumn:
      changed.priority = static_cast<int>(std::lround(value.toDouble()));
      break;
    case importanceColumn:
      changed.importance = value.toDouble();
      break;
    default:
      return false;
  }
  return workspace().perform(tr("Change sound"), {model::Replace<model::Sound>{changed}});
}

}  // namespace fourbeat::ui
