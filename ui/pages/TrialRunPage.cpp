// SPDX-License-Identifier: GPL-3.0-or-later
#include "TrialRunPage.h"

#include "Workspace.h"

namespace fourbeat::ui {

TrialRunPage::TrialRunPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("Trial run"), QStringLiteral("trial"), parent) {}

}  // namespace fourbeat::ui
