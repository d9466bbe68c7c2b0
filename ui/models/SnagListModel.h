// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/check/snag.h"

#include <QAbstractListModel>
#include <vector>

namespace fourbeat::ui {

/// The snags of the project, gravest first, in the order the rules report them.
class SnagListModel : public QAbstractListModel {
  Q_OBJECT
 public:
  enum Role { pointerRole = Qt::UserRole, severityRole, messageRole, labelRole, mendRole };

  using QAbstractListModel::QAbstractListModel;

  void setSnags(const std::vector<check::Snag>& snags);
  /// Whether the snags are those of a project that has changed since: they are shown muted.
  void setStale(bool stale);
  [[nodiscard]] int count(check::Severity severity) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;

 private:
  std::vector<check::Snag> snags_;
  bool stale_ = false;
};

}  // namespace fourbeat::ui
