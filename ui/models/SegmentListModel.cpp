// SPDX-License-Identifier: GPL-3.0-or-later
#include "SegmentListModel.h"

#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/model/piece.h"

#include <QCoreApplication>
#include <QLocale>

namespace fourbeat::ui {

QString word(dsp::SeamState state) {
  switch (state) {
    case dsp::SeamState::clean:
      return QCoreApplication::translate("SegmentListModel", "Clean");
    case dsp::SeamState::doubtful:
      return QCoreApplication::translate("SegmentListModel", "Doubtful");
    case dsp::SeamState::unclean:
      return QCoreApplication::translate("SegmentListModel", "Unclean");
  }
  return {};
}

QIcon signOf(dsp::SeamState state) {
  const Theme& theme = Theme::instance();
  switch (state) {
    case dsp::SeamState::clean:
      return theme.icon(QStringLiteral("good"), Theme::Ink::good);
    case dsp::SeamState::doubtful:
      return theme.icon(QStringLiteral("hint"), Theme::Ink::hint);
    case dsp::SeamState::unclean:
      return theme.icon(QStringLiteral("warning"), Theme::Ink::warning);
  }
  return {};
}

SegmentListModel::SegmentListModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace,
                  {tr("Segment"), tr("Kind"), tr("Take"), tr("Length"), tr("Gain"), tr("Loudness"),
                   tr("Seam")},
                  parent) {
  connect(&workspace.live(), &LiveCheck::updated, this, &SegmentListModel::measure);
  measure();
  refresh();
}

Qt::ItemFlags SegmentListModel::flags(const QModelIndex& index) const {
  Qt::ItemFlags flags = EntityModel::flags(index);
  if (index.isValid()) flags |= Qt::ItemIsDragEnabled;
  return flags;
}

void SegmentListModel::measure() {
  refresh();
  const auto checked = workspace().live().checked();
  if (!checked || !checked->fitted || !workspace().live().isCurrent()) return;
  using Figures = QHash<qint64, work::ClipLoudness>;
  workspace().jobs().run<Figures>(
      tr("Measuring loudness"), this,
      [checked](JobControl& job) -> Result<Figures> {
        Figures figures;
        const work::RenderedSet& set = checked->fitted->set;
        for (std::size_t i = 0; i < set.pieces.size() && !job.cancelled(); ++i) {
          const Id<model::Segment> segment = set.pieces[i].key.segment;
          if (!segment.is_set()) continue;
          if (const auto loudness = work::loudness_of(set.clips[i])) {
            figures.insert(segment.value(), *loudness);
          }
        }
        return figures;
      },
      [this](Result<Figures> figures) {
        if (!figures) return;
        loudness_ = std::move(*figures);
        refresh();
      },
      QStringLiteral("segment loudness"), JobKind::quiet);
}

QVector<qint64> SegmentListModel::idsNow() const {
  QVector<qint64> ids;
  for (const model::Segment& segment : workspace().project().segments)
    ids.append(segment.id.value());
  return ids;
}

QVariant SegmentListModel::seamCell(qint64 id, int role) const {
  const model::Project& project = workspace().project();
  const model::Segment* segment = model::find(project, Id<model::Segment>(id));
  if (!segment->loop) return role == Qt::DisplayRole ? QStringLiteral("—") : QVariant();
  const auto checked = workspace().live().checked();
  const auto found = checked ? checked->facts.seams.find(segment->id)
                             : std::map<Id<model::Segment>, dsp::SeamReport>::const_iterator();
  if (!checked || found == checked->facts.seams.end()) {
    if (role == Qt::DecorationRole) {
      return Theme::instance().icon(QStringLiteral("unknown"), Theme::Ink::mutedText);
    }
    return role == Qt::DisplayRole ? tr("Not measured yet") : QVariant();
  }
  if (role == Qt::DecorationRole) return signOf(found->second.state);
  if (role != Qt::DisplayRole) return {};
  const model::Verdict* verdict = model::verdict_in_force(project, *segment);
  const QString state =
      tr("%1, rank %2")
          .arg(word(found->second.state), QLocale().toString(found->second.rank, 'f', 0));
  if (verdict == nullptr) return state;
  return verdict->kind == model::VerdictKind::signed_off ? tr("%1, signed").arg(state)
                                                         : tr("%1, rejected").arg(state);
}

QVariant SegmentListModel::cell(qint64 id, int column, int role) const {
  const model::Project& project = workspace().project();
  const model::Segment* segment = model::find(project, Id<model::Segment>(id));
  if (segment == nullptr) return {};
  if (column == seamColumn) return seamCell(id, role);
  if (role == Qt::DecorationRole && column == kindColumn) {
    return Theme::instance().icon(segment->loop ? QStringLiteral("loop")
                                                : QStringLiteral("segments"));
  }
  if (role == Qt::TextAlignmentRole && column >= lengthColumn) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  if (role == Qt::EditRole && column == gainColumn) return segment->gain_db;
  if (role != Qt::DisplayRole && role != Qt::EditRole) return {};
  const model::Take* take = segment->source.mix.empty()
                                ? nullptr
                                : model::find(project, segment->source.mix.front().take);
  switch (column) {
    case nameColumn:
      return text(segment->name);
    case kindColumn:
      return segment->loop ? tr("Loop") : tr("One-shot");
    case takeColumn:
      return take != nullptr ? pathText(textPath(text(take->path)).filename()) : QString();
    case lengthColumn:
      return timeText(static_cast<double>(segment->range.length().value()) /
                          (take != nullptr ? std::max(1, take->sample_rate_hz) : 1),
                      2);
    case gainColumn:
      return decibelText(segment->gain_db);
    case loudnessColumn: {
      const auto found = loudness_.constFind(id);
      if (found == loudness_.constEnd()) return QStringLiteral("—");
      const QString figure = QLocale().toString(found->db, 'f', 1);
      return found->is_lufs ? tr("%1 LUFS").arg(figure) : tr("%1 dB, short").arg(figure);
    }
    default:
      return {};
  }
}

bool SegmentListModel::canEdit(qint64 id, int column) const {
  return id != 0 && (column == nameColumn || column == gainColumn);
}

bool SegmentListModel::edit(qint64 id, int column, const QVariant& value) {
  const model::Segment* segment = model::find(workspace().project(), Id<model::Segment>(id));
  if (segment == nullptr) return false;
  if (column == gainColumn) {
    return workspace().perform(tr("Change gain of segment"),
                               {model::SetSegmentGain{segment->id, value.toDouble()}});
  }
  model::Segment changed = *segment;
  changed.name = utf8(value.toString().trimmed());
  return workspace().perform(tr("Rename segment"), {model::Replace<model::Segment>{changed}});
}

}  // namespace fourbeat::ui
