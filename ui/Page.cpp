// SPDX-License-Identifier: GPL-3.0-or-later
#include "Page.h"

namespace fourbeat::ui {

Page::Page(Workspace& workspace, const QString& name, const QString& iconName, QWidget* parent)
    : QWidget(parent), workspace_(workspace), name_(name), iconName_(iconName) {
  setAccessibleName(name);
}

void Page::setNeed(const QString& need) {
  if (need == need_) return;
  need_ = need;
  Q_EMIT needChanged();
}

}  // namespace fourbeat::ui
