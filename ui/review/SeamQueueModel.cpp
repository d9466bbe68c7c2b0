// SPDX-License-Identifier: GPL-3.0-or-later
#include "SeamQueueModel.h"

#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/SegmentListModel.h"

#include <QCoreApplication>
#include <QLocale>

namespace fourbeat::ui {

namespace {

QIcon signOf(SeamDecision decision) {
  const Theme& theme = Theme::instance();
  switch (decision) {
    case SeamDecision::open:
      return theme.icon(QStringLiteral("unknown"), Theme::Ink::mutedText);
    case SeamDecision::lapsed:
      return theme.icon(QStringLiteral("warning"), Theme::Ink::warning);
    case SeamDecision::signedOff:
      return theme.icon(QStringLiteral("good"), Theme::Ink::good);
    case SeamDecision::signedHigher:
      return theme.icon(QStringLiteral("hint"), Theme::Ink::hint);
    case SeamDecision::needsWork:
      return theme.icon(QStringLiteral("error"), Theme::Ink::error);
  }
  return {};
}

/// The rank and state that the live check has measured, or null.
const dsp::SeamReport* measuredOf(const check::Facts& facts, const model::PieceKey& key) {
  if (key.segment.is_set()) {
    const auto found = facts.seams.find(key.segment);
    return found == facts.seams.end() ? nullptr : &found->second;
  }
  const auto found = facts.row_seams.find(key.row);
  return found == facts.row_seams.end() ? nullptr : &found->second;
}

SeamDecision decisionOn(const model::Project& project, const model::Piece& piece,
                        const check::Facts* facts, QString& note) {
  const model::Verdict* verdict = model::verdict_in_force(project, piece);
  if (verdict == nullptr) {
    return model::last_verdict(project, piece.key) != nullptr ? SeamDecision::lapsed
                                                              : SeamDecision::open;
  }
  note = text(verdict->note);
  if (verdict->kind == model::VerdictKind::rejected) return SeamDecision::needsWork;
  if (facts != nullptr) {
    const auto stored = facts->stored.find(piece.key);
    if (stored != facts->stored.end() &&
        model::is_above(*verdict, stored->second.sample_rate_hz, stored->second.bits)) {
      return SeamDecision::signedHigher;
    }
  }
  return SeamDecision::signedOff;
}

QString nameOf(const model::Project& project, const model::PieceKey& key) {
  if (const model::ChuffRow* row = model::find(project, key.row)) {
    return QCoreApplication::translate("SeamQueueModel", "Fused chuffs, %1, from %2")
        .arg(word(row->effort), speedText(row->from_kmh));
  }
  const model::Segment* segment = model::find(project, key.segment);
  return segment != nullptr ? text(segment->name) : QString();
}

}  // namespace

bool isDecided(SeamDecision decision) {
  return decision != SeamDecision::open && decision != SeamDecision::lapsed;
}

QString word(SeamDecision decision) {
  switch (decision) {
    case SeamDecision::open:
      return QCoreApplication::translate("SeamQueueModel", "Unsigned");
    case SeamDecision::lapsed:
      return QCoreApplication::translate("SeamQueueModel", "Changed since");
    case SeamDecision::signedOff:
      return QCoreApplication::translate("SeamQueueModel", "Signed");
    case SeamDecision::signedHigher:
      return QCoreApplication::translate("SeamQueueModel", "Signed, stored lower");
    case SeamDecision::needsWork:
      return QCoreApplication::translate("SeamQueueModel", "Needs work");
  }
  return {};
}

SeamQueueModel::SeamQueueModel(Workspace& workspace, QObject* parent)
    : RowModel(parent), workspace_(workspace) {
  connect(&workspace.document(), &Document::changed, this, &SeamQueueModel::refresh);
  connect(&workspace.live(), &LiveCheck::updated, this, &SeamQueueModel::refresh);
  refresh();
}

void SeamQueueModel::refresh() {
  const model::Project& project = workspace_.project();
  const auto checked = workspace_.live().checked();
  const check::Facts* facts = checked ? &checked->facts : nullptr;
  std::vector<SeamRow> rows;
  for (const model::Piece& piece : model::looped_pieces(project)) {
    SeamRow row;
    row.id = piece.key;
    row.name = nameOf(project, piece.key);
    row.decision = decisionOn(project, piece, facts, row.note);
    const dsp::SeamReport* report = facts != nullptr ? measuredOf(*facts, piece.key) : nullptr;
    row.measured = report == nullptr ? tr("not yet")
                                     : tr("%1, rank %2")
                                           .arg(ui::word(report->state),
                                                QLocale().toString(report->rank, 'f', 0));
    rows.push_back(std::move(row));
  }
  setRows(std::move(rows));
}

int SeamQueueModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

QVariant SeamQueueModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  switch (section) {
    case nameColumn:
      return tr("Loop");
    case decisionColumn:
      return tr("By ear");
    case measuredColumn:
      return tr("Measured");
    default:
      return {};
  }
}

QVariant SeamQueueModel::data(const QModelIndex& index, int role) const {
  const SeamRow* row = rowAt(index);
  if (row == nullptr) return {};
  if (role == Qt::DecorationRole && index.column() == decisionColumn) return signOf(row->decision);
  if (role == Qt::ToolTipRole) {
    return row->note.isEmpty() ? row->name : tr("%1: %2").arg(row->name, row->note);
  }
  if (role != Qt::DisplayRole) return {};
  switch (index.column()) {
    case nameColumn:
      return row->name;
    case decisionColumn:
      return word(row->decision);
    case measuredColumn:
      return row->measured;
    default:
      return {};
  }
}

int SeamQueueModel::decided() const {
  return static_cast<int>(std::count_if(
      rows().begin(), rows().end(), [](const SeamRow& row) { return isDecided(row.decision); }));
}

int SeamQueueModel::nextOpen(int from) const {
  for (int step = 1; step <= rowCount(); ++step) {
    const int at = (std::max(from, -1) + step) % rowCount();
    if (!isDecided(rows()[static_cast<std::size_t>(at)].decision)) return at;
  }
  return -1;
}

}  // namespace fourbeat::ui
