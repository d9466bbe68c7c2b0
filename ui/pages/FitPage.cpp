// SPDX-License-Identifier: GPL-3.0-or-later
#include "FitPage.h"

#include "Workspace.h"

namespace fourbeat::ui {

FitPage::FitPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("Fit"), QStringLiteral("fit"), parent) {}

}  // namespace fourbeat::ui
