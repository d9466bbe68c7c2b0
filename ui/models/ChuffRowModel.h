// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

namespace fourbeat::ui {

/// The rows of the chuff table; speeds and effort can be changed in their cells.
class ChuffRowModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column {
    fromColumn,
    toColumn,
    effortColumn,
    revolutionsColumn,
    chuffsColumn,
    lengthColumn,
    stateColumn
  };

  explicit ChuffRowModel(Workspace& workspace, QObject* parent = nullptr);

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 id, int column, int role) const override;
  [[nodiscard]] bool canEdit(qint64 id, int column) const override;
  bool edit(qint64 id, int column, const QVariant& value) override;
};

}  // namespace fourbeat::ui
