// SPDX-License-Identifier: GPL-3.0-or-later
#include "PartsTable.h"

#include "PageParts.h"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QTableView>
#include <QVBoxLayout>

namespace fourbeat::ui {

namespace {

constexpr int rowsInView = 3;

/// A cell of typed words.
class LineDelegate : public QStyledItemDelegate {
 public:
  using QStyledItemDelegate::QStyledItemDelegate;

  QWidget* createEditor(QWidget* parent, const QStyleOptionViewItem& /*option*/,
                        const QModelIndex& index) const override {
    return makeLine(parent, index.model()->headerData(index.column(), Qt::Horizontal).toString());
  }
};

}  // namespace

PartsTable::PartsTable(const QString& name, std::vector<PartColumn> columns,
                       PartsModel::Change change, Act add, Act remove, QWidget* parent)
    : QWidget(parent),
      model_(new PartsModel(std::move(columns), std::move(change), this)),
      table_(new QTableView(this)) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(Theme::tight);
  table_->setModel(model_);
  setUpTable(table_, name);
  table_->horizontalHeader()->setSectionResizeMode(QHeaderView::Stretch);
  table_->setFixedHeight(rowsInView * table_->verticalHeader()->defaultSectionSize() +
                         table_->horizontalHeader()->sizeHint().height() + Theme::tight);
  for (int i = 0; i < model_->columnCount(); ++i) {
    const PartColumn& kind = model_->columns()[static_cast<std::size_t>(i)];
    QStyledItemDelegate* delegate = nullptr;
    if (kind.words) {
      delegate = new LineDelegate(this);
    } else if (kind.choices) {
      delegate = new ChoiceDelegate(kind.choices, false, this);
    } else {
      delegate = new NumberDelegate(kind.number, this);
    }
    table_->setItemDelegateForColumn(i, delegate);
  }
  column->addWidget(table_);
  auto* bar = new QHBoxLayout;
  bar->setSpacing(Theme::tight);
  QPushButton* more = makeButton(
      this, QStringLiteral("add"), tr("Add row"), tr("One more row: %1").arg(name),
      [this, add = std::move(add)] { add(selectedRow(table_)); }, QKeySequence(Qt::Key_Insert),
      table_);
  remove_ = makeButton(
      this, QStringLiteral("remove"), tr("Remove row"), tr("Remove the chosen row: %1").arg(name),
      [this, remove = std::move(remove)] { remove(selectedRow(table_)); },
      QKeySequence(Qt::Key_Delete), table_);
  more->setAccessibleName(tr("Add row: %1").arg(name));
  remove_->setAccessibleName(tr("Remove row: %1").arg(name));
  bar->addWidget(more);
  bar->addWidget(remove_);
  bar->addStretch();
  column->addLayout(bar);
  remove_->setEnabled(false);
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          [this] { remove_->setEnabled(selectedRow(table_) >= 0); });
}

void PartsTable::show(QVector<QVariantList> rows) {
  model_->show(std::move(rows));
  remove_->setEnabled(selectedRow(table_) >= 0);
}

}  // namespace fourbeat::ui
