// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "models/PartsModel.h"

#include <QWidget>

namespace fourbeat::ui {

/// A short list of parts inside a form, with what adds and removes one.
class PartsTable : public QWidget {
  Q_OBJECT
 public:
  /// What its buttons do: the row that is chosen, or -1.
  using Act = std::function<void(int row)>;
  PartsTable(const QString& name, std::vector<PartColumn> columns, PartsModel::Change change,
             Act add, Act remove, QWidget* parent);

  void show(QVector<QVariantList> rows);

 private:
  PartsModel* model_;
  QTableView* table_;
  QPushButton* remove_ = nullptr;
};

}  // namespace fourbeat::ui
