// SPDX-License-Identifier: GPL-3.0-or-later
#include "CvTablePage.h"

#include "Workspace.h"

namespace fourbeat::ui {

CvTablePage::CvTablePage(Workspace& workspace, QWidget* parent)
    : Page(workspace, tr("CV table"), QStringLiteral("cvs"), parent) {}

}  // namespace fourbeat::ui
