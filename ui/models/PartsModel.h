// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "pages/Fields.h"

#include <QAbstractTableModel>
#include <QVariantList>
#include <QVector>

namespace fourbeat::ui {

/// A column of parts: numbers, or with `choices` what is chosen from them (words and value), or
/// `words` that are typed.
struct PartColumn {
  QString header;
  NumberForm number;
  std::function<ChoiceDelegate::Choices()> choices;
  bool words = false;
};

/// The parts of one value, as levels by speed: rows of cells that are shown, and changed by asking
/// who shows them.
class PartsModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  /// Changes a cell; false when it was refused.
  using Change = std::function<bool(int row, int column, const QVariant& value)>;
  PartsModel(std::vector<PartColumn> columns, Change change, QObject* parent);

  /// Each row has a cell a column. Names behind choices are asked for anew.
  void show(QVector<QVariantList> rows);
  [[nodiscard]] const std::vector<PartColumn>& columns() const { return columns_; }

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;
  bool setData(const QModelIndex& index, const QVariant& value, int role) override;

 private:
  [[nodiscard]] QString shown(int column, const QVariant& value) const;

  std::vector<PartColumn> columns_;
  Change change_;
  QVector<QVariantList> rows_;
};

}  // namespace fourbeat::ui
