// SPDX-License-Identifier: GPL-3.0-or-later
#include "SnagListModel.h"

#include "Theme.h"
#include "Wording.h"

#include <algorithm>

namespace fourbeat::ui {

namespace {

QIcon signOf(check::Severity severity) {
  const Theme& theme = Theme::instance();
  switch (severity) {
    case check::Severity::error:
      return theme.icon(QStringLiteral("error"), Theme::Ink::error);
    case check::Severity::warning:
      return theme.icon(QStringLiteral("warning"), Theme::Ink::warning);
    case check::Severity::hint:
      return theme.icon(QStringLiteral("hint"), Theme::Ink::hint);
  }
  return {};
}

}  // namespace

void SnagListModel::setSnags(const std::vector<check::Snag>& snags) {
  std::vector<check::Snag> sorted = snags;
  std::stable_sort(sorted.begin(), sorted.end(), [](const check::Snag& a, const check::Snag& b) {
    return static_cast<int>(a.severity) < static_cast<int>(b.severity);
  });
  if (sorted == snags_) return;
  beginResetModel();
  snags_ = std::move(sorted);
  endResetModel();
}

void SnagListModel::setStale(bool stale) {
  if (stale == stale_) return;
  stale_ = stale;
  if (rowCount() > 0) Q_EMIT dataChanged(index(0), index(rowCount() - 1), {Qt::ForegroundRole});
}

int SnagListModel::count(check::Severity severity) const {
  return static_cast<int>(
      std::count_if(snags_.begin(), snags_.end(),
                    [severity](const check::Snag& snag) { return snag.severity == severity; }));
}

int SnagListModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(snags_.size());
}

QVariant SnagListModel::data(const QModelIndex& index, int role) const {
  if (!checkIndex(index, CheckIndexOption::IndexIsValid)) return {};
  const check::Snag& snag = snags_[static_cast<std::size_t>(index.row())];
  switch (role) {
    case Qt::DisplayRole:
      return snag.label.empty() ? text(snag.message)
                                : tr("%1: %2").arg(text(snag.label), text(snag.message));
    case Qt::ForegroundRole:
      if (!stale_) return {};
      return Theme::instance().color(Theme::Ink::mutedText);
    case Qt::DecorationRole:
      return signOf(snag.severity);
    case Qt::ToolTipRole:
      return tr("%1\n%2\nMend: %3").arg(text(snag.label), text(snag.message), text(snag.mend));
    case Qt::AccessibleTextRole:
      return tr("%1, %2: %3. Mend: %4")
          .arg(word(snag.severity), text(snag.label), text(snag.message), text(snag.mend));
    case pointerRole:
      return text(snag.pointer);
    case severityRole:
      return static_cast<int>(snag.severity);
    case messageRole:
      return text(snag.message);
    case labelRole:
      return text(snag.label);
    case mendRole:
      return text(snag.mend);
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
