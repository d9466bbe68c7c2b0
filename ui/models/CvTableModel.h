// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "models/RowModel.h"

#include "fourbeat/model/key_map.h"
#include "fourbeat/store/data_files.h"

#include <QHash>
#include <QString>

namespace fourbeat::ui {

class Workspace;

/// The CVs of the set, by number, beside what the standard says of them, and what those of the
/// set's own change. A value out of range is stored, and is a snag.
class CvTableModel : public RowModel<model::Cv> {
  Q_OBJECT
 public:
  enum Column {
    numberColumn,
    nameColumn,
    valueColumn,
    meaningColumn,
    allowedColumn,
    noteColumn,
    snagColumn
  };
  static constexpr int columns = snagColumn + 1;

  explicit CvTableModel(Workspace& workspace, QObject* parent = nullptr);

  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;
  bool setData(const QModelIndex& index, const QVariant& value, int role) override;

  /// What the standard says of a number, or null.
  [[nodiscard]] const store::CvDefinition* definition(int number) const;
  /// "Momentum when speeding up"; "" for a number that the standard leaves to makers.
  [[nodiscard]] QString standardName(int number) const;

 private:
  void refresh();
  void refreshSnags();
  [[nodiscard]] QString shown(const model::Cv& cv, int column) const;
  /// What the CV's name does not tell by itself.
  [[nodiscard]] QString meaning(const model::Cv& cv) const;

  Workspace& workspace_;
  std::vector<store::CvDefinition> definitions_;
  QHash<qint64, QString> snags_;
};

}  // namespace fourbeat::ui
