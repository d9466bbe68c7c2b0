// SPDX-License-Identifier: GPL-3.0-or-later
#include "LoopCandidateModel.h"

#include "SegmentListModel.h"

#include <QLocale>

namespace fourbeat::ui {

void LoopCandidateModel::setCandidates(std::vector<dsp::LoopCandidate> candidates,
                                       double sampleRateHz) {
  if (candidates.empty() && candidates_.empty()) return;
  beginResetModel();
  candidates_ = std::move(candidates);
  sampleRateHz_ = sampleRateHz;
  endResetModel();
}

const dsp::LoopCandidate* LoopCandidateModel::candidate(int row) const {
  return row >= 0 && row < rowCount() ? &candidates_[static_cast<std::size_t>(row)] : nullptr;
}

int LoopCandidateModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(candidates_.size());
}

int LoopCandidateModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

QVariant LoopCandidateModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  switch (section) {
    case placeColumn:
      return tr("From");
    case lengthColumn:
      return tr("Length");
    case seamColumn:
      return tr("Seam");
    case rankColumn:
      return tr("Rank");
    case crossfadeColumn:
      return tr("Crossfade");
    case tellColumn:
      return tr("Tell");
    case scoreColumn:
      return tr("Score");
    default:
      return {};
  }
}

QVariant LoopCandidateModel::data(const QModelIndex& index, int role) const {
  if (!index.isValid() || index.row() >= rowCount()) return {};
  const dsp::LoopCandidate& shown = candidates_[static_cast<std::size_t>(index.row())];
  if (role == Qt::DecorationRole && index.column() == seamColumn) return signOf(shown.seam.state);
  if (role == Qt::TextAlignmentRole && index.column() != seamColumn) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  if (role == Qt::ToolTipRole && index.column() == seamColumn && !shown.seam.omitted.empty()) {
    QStringList omitted;
    for (const std::string& name : shown.seam.omitted)
      omitted << QString::fromStdString(name);
    return tr("Not measured, the loop is too short: %1").arg(omitted.join(tr(", ")));
  }
  if (role != Qt::DisplayRole) return {};
  const QLocale locale;
  const auto seconds = [&](std::int64_t frames) {
    return static_cast<double>(frames) / sampleRateHz_;
  };
  switch (index.column()) {
    case placeColumn:
      return tr("%1 s").arg(locale.toString(seconds(shown.loop.range.start.value()), 'f', 3));
    case lengthColumn:
      return tr("%1 s").arg(locale.toString(seconds(shown.loop.range.length().value()), 'f', 3));
    case seamColumn:
      return word(shown.seam.state);
    case rankColumn:
      return locale.toString(shown.seam.rank, 'f', 1);
    case crossfadeColumn:
      return tr("%1 ms").arg(
          locale.toString(1000.0 * seconds(shown.loop.crossfade_frames.value()), 'f', 0));
    case tellColumn:
      return tr("%1 dB").arg(locale.toString(shown.seam.tell_db, 'f', 1));
    case scoreColumn:
      return locale.toString(shown.score, 'f', 2);
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
