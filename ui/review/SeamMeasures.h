// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/seam.h"

#include <QString>

class QTableWidget;

namespace fourbeat::ui {

/// The measures of a seam in words and figures (docs/seams.md).

void setUpMeasures(QTableWidget* table);
/// null empties the table.
void showMeasures(QTableWidget* table, const dsp::SeamReport* report);
/// Rank, state and what was not measured, in one or two sentences.
[[nodiscard]] QString measuresSummary(const dsp::SeamReport& report);
/// A measure's name in words; a name nobody knows as it is.
[[nodiscard]] QString measureWord(const std::string& name);

}  // namespace fourbeat::ui
