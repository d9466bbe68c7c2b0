// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Wording.h"
#include "Workspace.h"

#include <QCoreApplication>
#include <QHash>
#include <optional>
#include <vector>

namespace fourbeat::ui {

/// What the newest check says of each entity of a list of the project ("keys"), one line a snag,
/// by id; nothing while that check is of an earlier state of the project.
template <class Entity>
[[nodiscard]] std::optional<QHash<qint64, QString>> snagLines(const LiveCheck& live,
                                                              QLatin1String list,
                                                              const std::vector<Entity>& entities) {
  if (!live.isCurrent()) return std::nullopt;
  QHash<qint64, QString> lines;
  for (const check::Snag& snag : live.checked()->snags) {
    const QStringList steps = text(snag.pointer).split(QLatin1Char('/'));
    if (steps.size() < 3 || steps[1] != list) continue;
    const auto place = static_cast<std::size_t>(steps[2].toUInt());
    if (place >= entities.size()) continue;
    QString& line = lines[entities[place].id.value()];
    if (!line.isEmpty()) line += QLatin1Char('\n');
    line += QCoreApplication::translate("SnagLines", "%1: %2; %3")
                .arg(word(snag.severity), text(snag.message), text(snag.mend));
  }
  return lines;
}

}  // namespace fourbeat::ui
