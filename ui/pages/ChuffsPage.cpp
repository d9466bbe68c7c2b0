// SPDX-License-Identifier: GPL-3.0-or-later
#include "ChuffsPage.h"

#include "Workspace.h"

namespace fourbeat::ui {

ChuffsPage::ChuffsPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("Chuffs"), QStringLiteral("chuffs"), parent) {}

}  // namespace fourbeat::ui
