// SPDX-License-Identifier: GPL-3.0-or-later
#include "LoopCandidateModel.h"

#include "SegmentListModel.h"
#include "Theme.h"

#include <QLocale>
#include <utility>

namespace fourbeat::ui {

namespace {

/// What is taken out, then what is left of level and of tone.
QString driftWords(const dsp::LoopCandidate& shown) {
  const QLocale locale;
  QStringList words;
  const auto add = [&](double db, const QString& form) {
    if (db != 0.0) words << form.arg(locale.toString(db, 'f', 1));
  };
  add(shown.loop.drift_db, LoopCandidateModel::tr("%1 dB"));
  const std::vector<double>& octaves_db = shown.loop.octave_drift_db;
  if (dsp::tone_tells(octaves_db)) {
    add(dsp::tone_drift_db(octaves_db), LoopCandidateModel::tr("tone %1 dB"));
  } else {
    add(dsp::octave_drift_spread_db(octaves_db), LoopCandidateModel::tr("octaves apart by %1 dB"));
  }
  add(shown.seam.level_drift_db, LoopCandidateModel::tr("left %1 dB"));
  add(shown.seam.tone_drift_db, LoopCandidateModel::tr("left tone %1 dB"));
  add(shown.seam.octave_drift_db, LoopCandidateModel::tr("left octave %1 dB"));
  return words.isEmpty() ? LoopCandidateModel::tr("none")
                         : words.join(LoopCandidateModel::tr(", "));
}

}  // namespace

QString LoopCandidateModel::explained(int column) {
  switch (column) {
    case placeColumn:
      return tr("Where the loop begins, from the segment's start");
    case lengthColumn:
      return tr("How long one round of the loop is");
    case seamColumn:
      return tr("Clean: nobody hears the seam. Doubtful: listen. Unclean: heard");
    case rankColumn:
      return tr(
          "How the worst moment about the seam compares with moments inside the sound, in "
          "percent: up to 95 is clean, up to 99 doubtful");
    case crossfadeColumn:
      return tr("How long the end is blended with what stands before the start");
    case driftColumn:
      return tr(
          "How much louder, and how much brighter in tone, the loop's end is than its start, taken "
          "out by slow ramps when it is rendered; and what is left: how much louder or brighter "
          "its last quarter is than its first. A loop with some left is never clean");
    case tellColumn:
      return tr(
          "How far the most conspicuous moment inside the loop stands out: what returns each "
          "round gives a loop away");
    case scoreColumn:
      return tr("What the list is sorted by: seam, tell and length together");
    default:
      return {};
  }
}

void LoopCandidateModel::setCandidates(std::vector<dsp::LoopCandidate> candidates,
                                       double sampleRateHz) {
  if (candidates.empty() && candidates_.empty()) return;
  beginResetModel();
  candidates_ = std::move(candidates);
  sampleRateHz_ = sampleRateHz;
  inUse_ = -1;
  endResetModel();
}

void LoopCandidateModel::setInUse(int row) {
  if (row == inUse_) return;
  const int before = std::exchange(inUse_, row);
  for (const int changed : {before, row}) {
    if (changed < 0 || changed >= rowCount()) continue;
    const QModelIndex cell = index(changed, placeColumn);
    Q_EMIT dataChanged(cell, cell);
  }
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
  if (orientation != Qt::Horizontal) return {};
  if (role == Qt::ToolTipRole) return explained(section);
  if (role != Qt::DisplayRole) return {};
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
    case driftColumn:
      return tr("Drift");
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
  const bool used = index.row() == inUse_ && index.column() == placeColumn;
  if (role == Qt::DecorationRole && used) {
    return Theme::instance().icon(QStringLiteral("good"), Theme::Ink::good);
  }
  if (used && role == Qt::ToolTipRole) return tr("The segment's loop");
  if (used && role == Qt::AccessibleTextRole) {
    return tr("%1, the segment's loop").arg(index.data().toString());
  }
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
    case driftColumn:
      return driftWords(shown);
    case tellColumn:
      return tr("%1 dB").arg(locale.toString(shown.seam.tell_db, 'f', 1));
    case scoreColumn:
      return locale.toString(shown.score, 'f', 2);
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
