// SPDX-License-Identifier: GPL-3.0-or-later
#include "RevolutionModel.h"

#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include <QLocale>
#include <algorithm>

namespace fourbeat::ui {

namespace {

QString decibels(double db) {
  return RevolutionModel::tr("%1 dB").arg(QLocale().toString(db, 'f', 1));
}

}  // namespace

RevolutionModel::RevolutionModel(Workspace& workspace, QObject* parent)
    : QAbstractTableModel(parent), workspace_(workspace) {
  connect(&workspace.document(), &Document::changed, this, &RevolutionModel::refresh);
}

void RevolutionModel::refresh() {
  if (candidates_.empty()) return;
  Q_EMIT dataChanged(index(0, 0), index(rowCount() - 1, columns - 1));
}

void RevolutionModel::setCandidates(std::vector<work::RevolutionCandidate> candidates,
                                    Id<model::ChuffRow> row) {
  beginResetModel();
  candidates_ = std::move(candidates);
  row_ = row;
  endResetModel();
}

const work::RevolutionCandidate* RevolutionModel::candidate(int row) const {
  return row >= 0 && row < rowCount() ? &candidates_[static_cast<std::size_t>(row)] : nullptr;
}

int RevolutionModel::placeInRow(int row) const {
  const model::ChuffRow* played = model::find(workspace_.project(), row_);
  const work::RevolutionCandidate* shown = candidate(row);
  if (played == nullptr || shown == nullptr || shown->revolution.chuffs.empty()) return -1;
  const model::Chuff& first = shown->revolution.chuffs.front();
  for (std::size_t i = 0; i < played->revolutions.size(); ++i) {
    const model::Revolution& each = played->revolutions[i];
    if (each.source == shown->revolution.source && !each.chuffs.empty() &&
        each.chuffs.front().beat_frame == first.beat_frame) {
      return static_cast<int>(i);
    }
  }
  return -1;
}

int RevolutionModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(candidates_.size());
}

int RevolutionModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

QString RevolutionModel::explained(int column) {
  switch (column) {
    case takeColumn:
      return tr("The take it is cut from; a tick: the row plays it");
    case placeColumn:
      return tr("Where its first beat is in the take");
    case speedColumn:
      return tr("The speed it was recorded at");
    case qualityColumn:
      return tr("All measures together, 0 to 100");
    case reasonColumn:
      return tr("What lowers the quality most");
    case signalColumn:
      return tr("How far the chuffs stand over what sounds between them");
    case endColumn:
      return tr("How far a chuff has died away where it ends");
    case accentColumn:
      return tr("How far its accents are from the engine's usual pattern");
    default:
      return {};
  }
}

QVariant RevolutionModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal) return {};
  if (role == Qt::ToolTipRole) return explained(section);
  if (role != Qt::DisplayRole) return {};
  switch (section) {
    case takeColumn:
      return tr("Take");
    case placeColumn:
      return tr("At");
    case speedColumn:
      return tr("Speed");
    case qualityColumn:
      return tr("Quality");
    case reasonColumn:
      return tr("Because");
    case signalColumn:
      return tr("Stands out");
    case endColumn:
      return tr("Tail");
    case accentColumn:
      return tr("Accents");
    default:
      return {};
  }
}

QString RevolutionModel::shown(const work::RevolutionCandidate& candidate, int column) const {
  const model::Take* take = model::find(workspace_.project(), candidate.take);
  switch (column) {
    case takeColumn:
      return take != nullptr ? pathText(textPath(text(take->path)).filename()) : tr("gone");
    case placeColumn:
      return timeText(static_cast<double>(candidate.first_beat.value()) /
                          (take != nullptr ? std::max(1, take->sample_rate_hz) : 1),
                      2);
    case speedColumn:
      return speedText(candidate.speed_kmh);
    case qualityColumn:
      return QLocale().toString(100.0 * candidate.quality.total, 'f', 0);
    case reasonColumn:
      return candidate.quality.reason.empty() ? tr("nothing lowers it")
                                              : text(candidate.quality.reason);
    case signalColumn:
      return decibels(candidate.quality.signal_db);
    case endColumn:
      return decibels(candidate.quality.end_db);
    case accentColumn:
      return decibels(candidate.quality.accent_db);
    default:
      return {};
  }
}

QVariant RevolutionModel::data(const QModelIndex& index, int role) const {
  const work::RevolutionCandidate* each = index.isValid() ? candidate(index.row()) : nullptr;
  if (each == nullptr) return {};
  const int column = index.column();
  switch (role) {
    case Qt::DisplayRole:
    case Qt::ToolTipRole:
      return shown(*each, column);
    case Qt::DecorationRole:
      if (column != takeColumn || placeInRow(index.row()) < 0) return {};
      return Theme::instance().icon(QStringLiteral("good"), Theme::Ink::good);
    case Qt::AccessibleTextRole:
      if (column != takeColumn || placeInRow(index.row()) < 0) return {};
      return tr("%1, played by the row").arg(shown(*each, column));
    case Qt::TextAlignmentRole:
      if (column == takeColumn || column == reasonColumn) return {};
      return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
