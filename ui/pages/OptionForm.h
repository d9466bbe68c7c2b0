// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityForm.h"

#include "fourbeat/model/option.h"

namespace fourbeat::ui {

/// All that an option has: its CV, its choices, which of them the set ships with, and what asks for
/// it.
class OptionForm : public EntityForm<model::Option> {
  Q_OBJECT
 public:
  explicit OptionForm(Workspace& workspace, QWidget* parent = nullptr);

 protected:
  /// A changed CV takes the set's entry of it along.
  [[nodiscard]] std::vector<model::Edit> edits(const model::Option& before,
                                               const model::Option& after) const override;

 private:
  void addCv();
  void addChoices();
  void addShipped();
  void addUses();
};

}  // namespace fourbeat::ui
