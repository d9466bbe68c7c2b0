// SPDX-License-Identifier: GPL-3.0-or-later
#include "TakeListModel.h"

#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include <QLocale>

namespace fourbeat::ui {

namespace {

using store::TakeState;

std::optional<store::TakeStatus> statusOf(Workspace& workspace, Id<model::Take> take) {
  const auto checked = workspace.live().checked();
  if (!checked) return std::nullopt;
  for (const store::TakeStatus& status : checked->facts.takes) {
    if (status.take == take) return status;
  }
  return std::nullopt;
}

QIcon signOf(const std::optional<store::TakeStatus>& status) {
  const Theme& theme = Theme::instance();
  if (!status) return theme.icon(QStringLiteral("unknown"), Theme::Ink::mutedText);
  switch (status->state) {
    case TakeState::present:
      return theme.icon(QStringLiteral("good"), Theme::Ink::good);
    case TakeState::changed:
    case TakeState::outside:
      return theme.icon(QStringLiteral("warning"), Theme::Ink::warning);
    case TakeState::missing:
    case TakeState::unreadable:
      return theme.icon(QStringLiteral("error"), Theme::Ink::error);
  }
  return {};
}

}  // namespace

TakeListModel::TakeListModel(Workspace& workspace, QObject* parent)
    : EntityModel(workspace,
                  {tr("Take"), tr("Length"), tr("Rate"), tr("Channels"), tr("Format"), tr("Pass"),
                   tr("File")},
                  parent) {
  connect(&workspace.live(), &LiveCheck::updated, this, &TakeListModel::refresh);
  refresh();
}

bool TakeListModel::anyAmiss() const {
  const auto checked = workspace().live().checked();
  if (!checked) return false;
  return std::any_of(checked->facts.takes.begin(), checked->facts.takes.end(),
                     [](const auto& status) { return status.state != TakeState::present; });
}

QVector<qint64> TakeListModel::idsNow() const {
  QVector<qint64> ids;
  for (const model::Take& take : workspace().project().takes)
    ids.append(take.id.value());
  return ids;
}

QVariant TakeListModel::cell(qint64 id, int column, int role) const {
  const model::Take* take = model::find(workspace().project(), Id<model::Take>(id));
  if (take == nullptr) return {};
  if (role == Qt::ToolTipRole) {
    const auto status = statusOf(workspace(), take->id);
    const bool detailed = column == stateColumn && status && !status->detail.empty();
    return detailed ? text(status->detail) : text(take->path);
  }
  if (role == Qt::DecorationRole && column == stateColumn) {
    return signOf(statusOf(workspace(), take->id));
  }
  if (role == Qt::TextAlignmentRole && (column >= lengthColumn && column <= channelsColumn)) {
    return static_cast<int>(Qt::AlignRight | Qt::AlignVCenter);
  }
  if (role != Qt::DisplayRole) return {};
  switch (column) {
    case nameColumn:
      return pathText(textPath(text(take->path)).filename());
    case lengthColumn:
      return timeText(static_cast<double>(take->frames.value()) /
                      std::max(1, take->sample_rate_hz));
    case rateColumn:
      return tr("%1 kHz").arg(QLocale().toString(take->sample_rate_hz / 1000.0, 'g', 6));
    case channelsColumn:
      return take->channels;
    case formatColumn:
      return text(take->format);
    case passColumn: {
      const model::Pass* pass = model::pass_of(workspace().project(), take->id);
      return pass != nullptr ? text(pass->name) : QString();
    }
    case stateColumn: {
      const auto status = statusOf(workspace(), take->id);
      if (!status) return tr("Not looked at yet");
      switch (status->state) {
        case TakeState::present:
          return tr("There");
        case TakeState::missing:
          return tr("Missing");
        case TakeState::changed:
          return tr("Changed");
        case TakeState::unreadable:
          return tr("Cannot be read");
        case TakeState::outside:
          return tr("Folder not trusted");
      }
      return {};
    }
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
