// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/speaker.h"

#include <QDialog>
#include <array>
#include <functional>
#include <vector>

class QCheckBox;
class QDoubleSpinBox;
class QFormLayout;
class QLabel;
class QLineEdit;

namespace fourbeat::ui {

class Workspace;

/// The figures of the set's speaker, each changed by a step that can be undone. A speaker that came
/// with the program becomes one of the project's own, with a name that says so.
class SpeakerForm : public QDialog {
  Q_OBJECT
 public:
  /// shipped: the speakers that come with the program. hear: plays what is under review.
  SpeakerForm(Workspace& workspace, std::vector<model::Speaker> shipped, std::function<void()> hear,
              QWidget* parent);

 private:
  struct Figure {
    double model::Speaker::*at = nullptr;
    QDoubleSpinBox* field = nullptr;
  };

  QDoubleSpinBox* makeFigure(std::size_t place, double model::Speaker::*at, const QString& name,
                             const QString& unit, int decimals);
  void addRow(QFormLayout* form, const QString& words, const std::vector<QWidget*>& fields);
  void change(const QString& what, const std::function<void(model::Speaker&)>& how);
  void refresh();

  Workspace& workspace_;
  std::vector<model::Speaker> shipped_;
  QLineEdit* name_;
  std::array<Figure, 7> figures_;
  QCheckBox* invented_;
  QLabel* note_;
};

}  // namespace fourbeat::ui
