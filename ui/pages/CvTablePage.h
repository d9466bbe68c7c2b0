// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

namespace fourbeat::ui {

class CvTablePage : public Page {
  Q_OBJECT
 public:
  explicit CvTablePage(Workspace& workspace, QWidget* parent = nullptr);
};

}  // namespace fourbeat::ui
