// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "Theme.h"
#include "Workspace.h"
#include "models/RowModel.h"
#include "models/SnagLines.h"

#include "fourbeat/model/entities.h"

#include <functional>

namespace fourbeat::ui {

/// A column of a list that only shows.
template <class T>
struct SectionColumn {
  QString header;
  std::function<QString(const T&)> shown;
  int letters = 19;  ///< wide
};

/// The entities of one kind in the project's order, as columns of words, the last one their snags.
template <class T>
class SectionModel : public RowModel<T> {
 public:
  using Holds = std::function<bool(const T&)>;
  /// holds: which of them it lists; none: all.
  SectionModel(Workspace& workspace, std::vector<SectionColumn<T>> columns, QString snagHeader,
               QObject* parent, Holds holds = {})
      : RowModel<T>(parent),
        workspace_(workspace),
        columns_(std::move(columns)),
        holds_(std::move(holds)) {
    columns_.push_back({std::move(snagHeader), [this](const T& row) {
                          return snagsOf(row.id).section(QLatin1Char('\n'), 0, 0);
                        }});
    QObject::connect(&workspace.document(), &Document::changed, this, [this] { refresh(); });
    QObject::connect(&workspace.live(), &LiveCheck::updated, this, [this] { refreshSnags(); });
    refresh();
    refreshSnags();
  }

  /// What a check said last, one line a snag.
  [[nodiscard]] QString snagsOf(Id<T> id) const { return snags_.value(id.value()); }

  [[nodiscard]] int lettersOf(int column) const {
    return columns_[static_cast<std::size_t>(column)].letters;
  }
  [[nodiscard]] int columnCount(const QModelIndex& parent = {}) const override {
    return parent.isValid() ? 0 : static_cast<int>(columns_.size());
  }
  [[nodiscard]] QVariant data(const QModelIndex& index, int role) const override {
    const T* row = this->rowAt(index);
    if (row == nullptr) return {};
    const SectionColumn<T>& column = columns_[static_cast<std::size_t>(index.column())];
    const bool snag = index.column() == columnCount() - 1;
    switch (role) {
      case Qt::DisplayRole:
        return column.shown(*row);
      case Qt::ToolTipRole:
        return snag ? snagsOf(row->id) : column.shown(*row);
      case Qt::AccessibleTextRole:
        return QStringLiteral("%1: %2").arg(column.header, column.shown(*row));
      case Qt::DecorationRole:
        if (snag && snags_.contains(row->id.value()))
          return Theme::instance().icon(QStringLiteral("warning"), Theme::Ink::warning);
        return {};
      default:
        return {};
    }
  }
  [[nodiscard]] QVariant headerData(int section, Qt::Orientation orientation,
                                    int role) const override {
    if (orientation != Qt::Horizontal || role != Qt::DisplayRole || section < 0 ||
        section >= columnCount()) {
      return {};
    }
    return columns_[static_cast<std::size_t>(section)].header;
  }

 private:
  void refresh() {
    std::vector<T> rows = model::list_of<T>(workspace_.project());
    if (holds_) std::erase_if(rows, [this](const T& each) { return !holds_(each); });
    this->setRows(std::move(rows));
    this->touch(0, columnCount() - 1);  // what rows refer to may have another name
  }
  void refreshSnags() {
    const QString list =
        QString::fromUtf8(model::Entity<T>::list.data() + 1,
                          static_cast<qsizetype>(model::Entity<T>::list.size()) - 1);
    const QByteArray name = list.toLatin1();
    auto snags =
        snagLines(workspace_.live(), QLatin1String(name), model::list_of<T>(workspace_.project()));
    if (!snags || *snags == snags_) return;
    snags_ = std::move(*snags);
    this->touch(columnCount() - 1, columnCount() - 1);
  }

  Workspace& workspace_;
  std::vector<SectionColumn<T>> columns_;
  Holds holds_;
  QHash<qint64, QString> snags_;
};

}  // namespace fourbeat::ui
