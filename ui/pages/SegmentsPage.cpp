// SPDX-License-Identifier: GPL-3.0-or-later
#include "SegmentsPage.h"

#include "Workspace.h"

namespace fourbeat::ui {

SegmentsPage::SegmentsPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("Segments"), QStringLiteral("segments"), parent) {}

}  // namespace fourbeat::ui
