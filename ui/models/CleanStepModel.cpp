// SPDX-License-Identifier: GPL-3.0-or-later
#include "CleanStepModel.h"

#include "Wording.h"
#include "Workspace.h"

#include <QLocale>
#include <cmath>

namespace fourbeat::ui {

CleanStepModel::CleanStepModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace, {tr("Step"), tr("Frequency"), tr("Strength"), tr("Quality")}, parent) {
  refresh();
}

void CleanStepModel::setSegment(Id<model::Segment> segment) {
  segment_ = segment;
  refresh();
}

const model::Segment* CleanStepModel::segment() const {
  return model::find(workspace().project(), segment_);
}

const model::CleanStep* CleanStepModel::step(qint64 id) const {
  const model::Segment* shown = segment();
  const auto place = static_cast<std::size_t>(id - 1);
  return shown != nullptr && place < shown->source.clean.size() ? &shown->source.clean[place]
                                                                : nullptr;
}

QVector<qint64> CleanStepModel::idsNow() const {
  QVector<qint64> ids;
  const model::Segment* shown = segment();
  for (std::size_t i = 0; shown != nullptr && i < shown->source.clean.size(); ++i)
    ids.append(static_cast<qint64>(i) + 1);
  return ids;
}

QVariant CleanStepModel::cell(qint64 id, int column, int role) const {
  const model::CleanStep* shown = step(id);
  if (shown == nullptr) return {};
  if (role == Qt::TextAlignmentRole && column != stepColumn) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  if (role != Qt::DisplayRole && role != Qt::EditRole) return {};
  const bool plain = role == Qt::EditRole;
  const auto hertz = [](double hz) { return tr("%1 Hz").arg(QLocale().toString(hz, 'f', 1)); };
  if (const auto* high = std::get_if<model::HighPass>(shown)) {
    switch (column) {
      case stepColumn:
        return tr("High-pass");
      case frequencyColumn:
        return plain ? QVariant(high->cutoff_hz) : hertz(high->cutoff_hz);
      case strengthColumn:
        return plain ? QVariant(static_cast<double>(high->order)) : tr("order %1").arg(high->order);
      default:
        return plain ? QVariant() : QStringLiteral("—");
    }
  }
  const auto& hum = std::get<model::HumNotch>(*shown);
  switch (column) {
    case stepColumn:
      return tr("Hum notch");
    case frequencyColumn:
      return plain ? QVariant(hum.fundamental_hz) : hertz(hum.fundamental_hz);
    case strengthColumn:
      return plain ? QVariant(static_cast<double>(hum.harmonics))
                   : tr("%1 lines").arg(hum.harmonics);
    default:
      return plain ? QVariant(hum.q) : tr("Q %1").arg(QLocale().toString(hum.q, 'f', 0));
  }
}

bool CleanStepModel::canEdit(qint64 id, int column) const {
  const model::CleanStep* shown = step(id);
  if (shown == nullptr || column == stepColumn) return false;
  return column != qualityColumn || std::holds_alternative<model::HumNotch>(*shown);
}

bool CleanStepModel::edit(qint64 id, int column, const QVariant& value) {
  const model::Segment* shown = segment();
  if (step(id) == nullptr) return false;
  model::Segment changed = *shown;
  model::CleanStep& step = changed.source.clean[static_cast<std::size_t>(id - 1)];
  const double number = value.toDouble();
  if (auto* high = std::get_if<model::HighPass>(&step)) {
    if (column == frequencyColumn) high->cutoff_hz = number;
    if (column == strengthColumn) high->order = static_cast<int>(std::lround(number));
  } else if (auto* hum = std::get_if<model::HumNotch>(&step)) {
    if (column == frequencyColumn) hum->fundamental_hz = number;
    if (column == strengthColumn) hum->harmonics = static_cast<int>(std::lround(number));
    if (column == qualityColumn) hum->q = number;
  }
  return workspace().perform(tr("Change clean step"), {model::Replace<model::Segment>{changed}});
}

void CleanStepModel::add(const model::CleanStep& step) {
  const model::Segment* shown = segment();
  if (shown == nullptr) return;
  model::Segment changed = *shown;
  changed.source.clean.push_back(step);
  workspace().perform(tr("Add clean step"), {model::Replace<model::Segment>{changed}});
}

void CleanStepModel::remove(int row) {
  const model::Segment* shown = segment();
  if (step(idAt(row)) == nullptr) return;
  model::Segment changed = *shown;
  changed.source.clean.erase(changed.source.clean.begin() + row);
  workspace().perform(tr("Remove clean step"), {model::Replace<model::Segment>{changed}});
}

}  // namespace fourbeat::ui
