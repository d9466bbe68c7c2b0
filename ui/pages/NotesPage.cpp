// SPDX-License-Identifier: GPL-3.0-or-later
#include "NotesPage.h"

#include "Workspace.h"

namespace fourbeat::ui {

NotesPage::NotesPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("Notes"), QStringLiteral("notes"), parent) {}

}  // namespace fourbeat::ui
