// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityModel.h"

namespace fourbeat::ui {

/// The takes of the project, with the state of their files as the live check last found it.
class TakeListModel : public EntityModel {
  Q_OBJECT
 public:
  enum Column {
    nameColumn,
    lengthColumn,
    rateColumn,
    channelsColumn,
    formatColumn,
    passColumn,
    stateColumn
  };

  explicit TakeListModel(Workspace& workspace, QObject* parent = nullptr);

  /// True when any take's file is known to be missing or another one.
  [[nodiscard]] bool anyAmiss() const;

 protected:
  [[nodiscard]] QVector<qint64> idsNow() const override;
  [[nodiscard]] QVariant cell(qint64 id, int column, int role) const override;
};

}  // namespace fourbeat::ui
