// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/effort.h"

#include <QGroupBox>
#include <array>
#include <functional>
#include <optional>

class QCheckBox;
class QDoubleSpinBox;
class QPushButton;

namespace fourbeat::ui {

class Workspace;

/// Where drifting ends and hard work begins: the engine's own figures, or none, when the beats of
/// the takes tell.
class EffortPanel : public QGroupBox {
  Q_OBJECT
 public:
  explicit EffortPanel(Workspace& workspace, QWidget* parent = nullptr);

  /// The figures that the last build went by.
  void setHeard(const model::EffortCalibration& heard);

 private:
  /// One measure of a beat: whether it counts, and its two figures.
  struct Measure {
    QCheckBox* counts = nullptr;
    QDoubleSpinBox* drifting_below = nullptr;
    QDoubleSpinBox* hard_from = nullptr;
    double unit = 1.0;  ///< of the model's figure, in what the field shows
    std::optional<double> model::EffortCalibration::*low = nullptr;
    std::optional<double> model::EffortCalibration::*high = nullptr;
  };

  void makeMeasure(Measure& measure, const QString& name, const QString& mnemonic, int row);
  void refresh();
  void set(const std::optional<model::EffortCalibration>& effort);
  void change(const std::function<void(model::EffortCalibration&)>& how);
  [[nodiscard]] model::EffortCalibration shown() const;

  Workspace& workspace_;
  std::optional<model::EffortCalibration> heard_;
  QCheckBox* own_;
  std::array<Measure, 2> measures_;
  QDoubleSpinBox* slowing_;
  QDoubleSpinBox* gaining_;
  QPushButton* take_;
};

}  // namespace fourbeat::ui
