// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "views/DriveTimeline.h"

#include "fourbeat/work/trial.h"

#include <QStringList>
#include <memory>

namespace fourbeat::ui {

/// How F0 … are called, by number.
[[nodiscard]] QStringList keyNamesOf(const model::Project& project);

/// What the timeline draws of a run. keyNames: how F0 … are called, by number.
[[nodiscard]] std::shared_ptr<const DriveChart> chartOf(const work::TrialRun& run,
                                                        const QStringList& keyNames);

}  // namespace fourbeat::ui
