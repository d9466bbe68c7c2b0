// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/take.h"

#include <QWidget>

class QDoubleSpinBox;
class QLabel;
class QLineEdit;
class QPlainTextEdit;

namespace fourbeat::ui {

class Workspace;

/// The pass of the chosen take: its name, log and rights, and the take's place on its clock.
class PassPanel : public QWidget {
  Q_OBJECT
 public:
  explicit PassPanel(Workspace& workspace, QWidget* parent = nullptr);

  void setTake(Id<model::Take> take);

 protected:
  bool eventFilter(QObject* watched, QEvent* event) override;

 private:
  void refresh();
  void keepLog();
  void change(const QString& what, const std::function<void(model::Pass&)>& how,
              const QString& mergeKey = {});
  void changeRights(const std::function<void(model::Rights&)>& how);
  [[nodiscard]] const model::Pass* pass() const;

  Workspace& workspace_;
  QLineEdit* name_;
  QDoubleSpinBox* offset_;
  QLabel* members_;
  QLineEdit* owner_;
  QLineEdit* purpose_;
  QLineEdit* until_;
  QPlainTextEdit* log_;
  Id<model::Take> take_;
};

}  // namespace fourbeat::ui
