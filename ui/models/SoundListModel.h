// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

namespace fourbeat::ui {

/// The sounds of the set: what they are made of, and how they stand among the others.
class SoundListModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column {
    nameColumn,
    categoryColumn,
    kindColumn,
    beginColumn,
    mainColumn,
    releaseColumn,
    gainColumn,
    priorityColumn,
    importanceColumn
  };

  explicit SoundListModel(Workspace& workspace, QObject* parent = nullptr);

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 id, int column, int role) const override;
  [[nodiscard]] bool canEdit(qint64 id, int column) const override;
  bool edit(qint64 id, int column, const QVariant& value) override;

 private:
  [[nodiscard]] QString segmentName(qint64 id) const;
};

}  // namespace fourbeat::ui
