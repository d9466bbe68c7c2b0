// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityForm.h"

#include "fourbeat/model/trigger.h"

namespace fourbeat::ui {

/// All that a trigger has: what sets it off, when, and what it does.
class TriggerForm : public EntityForm<model::Trigger> {
  Q_OBJECT
 public:
  explicit TriggerForm(Workspace& workspace, QWidget* parent = nullptr);

 private:
  void addEvent();
  void addAction();
  void addSounds();
  void addSpan(const QString& from, const QString& to,
               std::optional<model::TimeSpan> model::Trigger::*span, double least);
};

}  // namespace fourbeat::ui
