// SPDX-License-Identifier: GPL-3.0-or-later
#include "TakesPage.h"

#include "Workspace.h"

namespace fourbeat::ui {

TakesPage::TakesPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("Takes"), QStringLiteral("takes"), parent) {}

void TakesPage::addFiles(const QStringList&) {}

}  // namespace fourbeat::ui
