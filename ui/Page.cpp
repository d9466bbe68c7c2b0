// SPDX-License-Identifier: GPL-3.0-or-later
#include "Page.h"

namespace fourbeat::ui {

Page::Page(Workspace& workspace, QWidget* parent) : QWidget(parent), workspace_(workspace) {}

void Page::setNeed(const QString& need) {
  if (need == need_) return;
  need_ = need;
  Q_EMIT needChanged();
}

}  // namespace fourbeat::ui
