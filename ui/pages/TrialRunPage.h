// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

namespace fourbeat::ui {

class TrialRunPage : public Page {
  Q_OBJECT
 public:
  explicit TrialRunPage(Workspace& workspace, QWidget* parent = nullptr);
};

}  // namespace fourbeat::ui
