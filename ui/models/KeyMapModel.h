// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "models/RowModel.h"

#include "fourbeat/model/key_map.h"

#include <QHash>
#include <QString>

namespace fourbeat::ui {

class Workspace;

/// The uses of the function keys, by number; every cell but what it
/// does beside and the snags can be edited.
class KeyMapModel : public RowModel<model::Key> {
  Q_OBJECT
 public:
  enum Column {
    numberColumn,
    labelColumn,
    modeColumn,
    directionColumn,
    soundColumn,
    taskColumn,
    snagColumn
  };
  static constexpr int columns = snagColumn + 1;

  explicit KeyMapModel(Workspace& workspace, QObject* parent = nullptr);

  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;
  bool setData(const QModelIndex& index, const QVariant& value, int role) override;

  /// What a check said of a key last, one line a snag; "" where nothing.
  [[nodiscard]] QString snagsOf(Id<model::Key> key) const;

 private:
  void refresh();
  void refreshSnags();
  [[nodiscard]] QStringList choices(int column) const;
  [[nodiscard]] QString shown(const model::Key& key, int column) const;

  Workspace& workspace_;
  QHash<qint64, QString> snags_;
};

}  // namespace fourbeat::ui
