// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "ValueForm.h"

#include "fourbeat/model/driving.h"

namespace fourbeat::ui {

/// How the set drives: all of model::Driving, in groups, each field with what it means.
class DrivingForm : public ValueForm<model::Driving> {
  Q_OBJECT
 public:
  explicit DrivingForm(Workspace& workspace, QWidget* parent = nullptr);
  [[nodiscard]] const model::Driving* entity() const override { return &project().driving; }

 protected:
  [[nodiscard]] std::vector<model::Edit> edits(const model::Driving& before,
                                               const model::Driving& after) const override;
  [[nodiscard]] QString place() const override { return QStringLiteral("driving"); }

 private:
  void addSpeed();
  void addWheel();
  void addStart();
  void addSlip();
  void addRunning();
  void addPower();
};

}  // namespace fourbeat::ui
