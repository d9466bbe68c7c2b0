// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <QAbstractTableModel>
#include <QStringList>
#include <QVector>

namespace fourbeat::ui {

class Workspace;

/// A table with one row an entity of the project, kept up with it: rows keep their identity, so a
/// selection stays on what was selected while others come and go. Values are read from the project
/// when they are asked for; a cell is changed by performing an edit.
class EntityModel : public QAbstractTableModel {
  Q_OBJECT
 public:
  EntityModel(Workspace& workspace, QStringList headers, QObject* parent);

  /// 0 for none.
  [[nodiscard]] qint64 idAt(int row) const;
  /// -1 for none.
  [[nodiscard]] int rowOf(qint64 id) const;

  [[nodiscard]] int rowCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override;
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override;
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override;
  [[nodiscard]] Qt::ItemFlags flags(const QModelIndex& index) const override;
  bool setData(const QModelIndex& index, const QVariant& value, int role) override;

 protected:
  /// The ids to show now, in order, each once, none 0.
  [[nodiscard]] virtual QVector<qint64> idsNow() const = 0;
  /// A value; {} when there is no such entity any more.
  [[nodiscard]] virtual QVariant cell(qint64 id, int column, int role) const = 0;
  [[nodiscard]] virtual bool canEdit(qint64 id, int column) const;
  /// Performs the edit; false when it was refused.
  virtual bool edit(qint64 id, int column, const QVariant& value);
  /// To be called by the most derived class once it stands, and when what it shows has changed
  /// beside the project. Follows the project by itself.
  void refresh();
  [[nodiscard]] Workspace& workspace() const { return workspace_; }

 private:
  Workspace& workspace_;
  QStringList headers_;
  QVector<qint64> ids_;
};

}  // namespace fourbeat::ui
