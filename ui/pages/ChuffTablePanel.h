// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/chuff_table.h"
#include "fourbeat/work/chuff_plan.h"

#include <QWidget>
#include <functional>

class QCheckBox;
class QComboBox;
class QDoubleSpinBox;
class QGroupBox;

namespace fourbeat::ui {

class EffortPanel;
class Workspace;

/// What holds for the whole chuff table, and how the next build proposes its rows and
/// judges effort.
class ChuffTablePanel : public QWidget {
  Q_OBJECT
 public:
  explicit ChuffTablePanel(Workspace& workspace, QWidget* parent = nullptr);

  /// How rows are to be proposed.
  [[nodiscard]] work::ChuffPlan plan() const;
  [[nodiscard]] EffortPanel* effort() const { return effort_; }

 private:
  QGroupBox* makeTable();
  QGroupBox* makePlan();
  void refresh();
  void changeTable(const char* key, const std::function<void(model::ChuffTable&)>& how);
  void changeLead(double lead_ms);

  Workspace& workspace_;
  QDoubleSpinBox* lead_;
  QDoubleSpinBox* gain_;
  QDoubleSpinBox* priority_;
  QDoubleSpinBox* importance_;
  QDoubleSpinBox* ratio_;
  QDoubleSpinBox* least_;
  QDoubleSpinBox* most_;
  QCheckBox* derive_;
  QComboBox* condition_;
  EffortPanel* effort_;
};

}  // namespace fourbeat::ui
