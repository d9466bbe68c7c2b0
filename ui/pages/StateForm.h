// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityForm.h"

#include "fourbeat/model/state.h"

namespace fourbeat::ui {

/// All that a state of the set's own asks for.
class StateForm : public EntityForm<model::OwnState> {
  Q_OBJECT
 public:
  explicit StateForm(Workspace& workspace, QWidget* parent = nullptr);

 private:
  void addEdge(const QString& words, const QString& label,
               std::optional<double> model::OwnState::*edge, double first);
};

}  // namespace fourbeat::ui
