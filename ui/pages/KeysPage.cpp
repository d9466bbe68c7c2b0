// SPDX-License-Identifier: GPL-3.0-or-later
#include "KeysPage.h"

#include "Workspace.h"

namespace fourbeat::ui {

KeysPage::KeysPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("Keys"), QStringLiteral("keys"), parent) {}

}  // namespace fourbeat::ui
