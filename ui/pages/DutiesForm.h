// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "ValueForm.h"

#include "fourbeat/model/duties.h"

namespace fourbeat::ui {

/// Steam, fire and water: all of model::Duties, in groups, each field with what it means. Hidden
/// while the set has no duties.
class DutiesForm : public ValueForm<model::Duties> {
  Q_OBJECT
 public:
  explicit DutiesForm(Workspace& workspace, QWidget* parent = nullptr);
  [[nodiscard]] const model::Duties* entity() const override;

 protected:
  [[nodiscard]] std::vector<model::Edit> edits(const model::Duties& before,
                                               const model::Duties& after) const override;
  [[nodiscard]] QString place() const override { return QStringLiteral("duties"); }

 private:
  void addSteam();
  void addFire();
  void addWater();
  void add(const QString& help, const QString& label, double model::Duties::*at,
           const FigureForm& shown);
};

}  // namespace fourbeat::ui
