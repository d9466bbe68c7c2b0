// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityForm.h"

#include "fourbeat/model/key_map.h"

namespace fourbeat::ui {

/// What a use of a key does beside playing one sound: its task, its variants by speed, when it
/// serves, its gain.
class KeyForm : public EntityForm<model::Key> {
  Q_OBJECT
 public:
  explicit KeyForm(Workspace& workspace, QWidget* parent = nullptr);

 private:
  void addTask();
  void addTaskFigures();
  void addOptionTask();
  void addVariants();
};

}  // namespace fourbeat::ui
