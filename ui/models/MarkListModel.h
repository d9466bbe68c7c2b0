// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

#include "fourbeat/model/take.h"

namespace fourbeat::ui {

/// The marks of one take; kind, label, start and length (in seconds) can be changed in their cells.
class MarkListModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column { kindColumn, labelColumn, startColumn, lengthColumn };

  explicit MarkListModel(Workspace& workspace, QObject* parent = nullptr);

  void setTake(Id<model::Take> take);

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 id, int column, int role) const override;
  [[nodiscard]] bool canEdit(qint64 id, int column) const override;
  bool edit(qint64 id, int column, const QVariant& value) override;

 private:
  Id<model::Take> take_;
};

}  // namespace fourbeat::ui
