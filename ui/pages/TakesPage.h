// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Page.h"

namespace fourbeat::ui {

class TakesPage : public Page {
  Q_OBJECT
 public:
  explicit TakesPage(Workspace& workspace, QWidget* parent = nullptr);

  /// Adds recordings, and those in folders, to the project (a job).
  void addFiles(const QStringList& paths);
};

}  // namespace fourbeat::ui
