// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "EntityForm.h"
#include "Sections.h"
#include "models/SectionModel.h"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QSplitter>
#include <QStackedWidget>
#include <QTableView>
#include <QVBoxLayout>

namespace fourbeat::ui {

/// The words of a section.
struct SectionWords {
  QString list;  ///< "Triggers"
  QString add;   ///< "&Add trigger"
  QString addTip;
  QString duplicate;  ///< "Duplicate trigger"
  QString remove;     ///< "Remove trigger"
  QString empty;      ///< shown in place of the list, in one line, while it is empty
  QString copyName;   ///< "%1 (copy)"
  QString snags;      ///< header of the last column
};

/// What a section does beside, where adding and removing one entity is not all.
template <class T>
struct SectionManners {
  /// Which entities it lists; none: all.
  typename SectionModel<T>::Holds holds;
  /// Gives a copy what no two may share.
  std::function<void(T&)> renew;
  /// What is done with adding one, as a part of the same step.
  std::function<std::vector<model::Edit>(const T&)> withAdd;
  /// The step that removes one; none: that it goes, and nothing else.
  std::function<std::vector<model::Edit>(const T&)> remove;
};

/// A section of the entities T.
template <class T>
class SectionPanel : public Section {
 public:
  SectionPanel(Workspace& workspace, const SectionWords& words,
               std::vector<SectionColumn<T>> columns, std::function<T()> fresh, EntityForm<T>* form,
               QWidget* parent, SectionManners<T> manners = {})
      : Section(parent),
        workspace_(workspace),
        words_(words),
        fresh_(std::move(fresh)),
        manners_(std::move(manners)),
        form_(form),
        model_(
            new SectionModel<T>(workspace, std::move(columns), words.snags, this, manners_.holds)),
        table_(new QTableView(this)),
        stack_(new QStackedWidget(this)) {
    auto* row = new QHBoxLayout(this);
    row->setContentsMargins(0, Theme::gap, 0, 0);
    auto* split = new QSplitter(Qt::Horizontal, this);
    row->addWidget(split);
    split->addWidget(makeLeft(split));
    split->addWidget(makeRight(split));
    split->setStretchFactor(0, 3);
    split->setStretchFactor(1, 1);
    split->setChildrenCollapsible(false);
    connect(table_->selectionModel(), &QItemSelectionModel::currentRowChanged, this,
            [this] { refresh(); });
    connect(model_, &QAbstractItemModel::rowsInserted, this, [this] { refresh(); });
    connect(model_, &QAbstractItemModel::rowsRemoved, this, [this] { refresh(); });
    connect(model_, &QAbstractItemModel::dataChanged, this, [this] { refresh(); });
    if (model_->rowCount() > 0) table_->selectRow(0);
    refresh();
  }

  [[nodiscard]] QString need() const override {
    return model_->rowCount() > 0 ? words_.addTip : words_.empty;
  }
  void reveal(const QString& inside) override {
    const auto place = static_cast<std::size_t>(inside.section(QLatin1Char('/'), 0, 0).toUInt());
    const std::vector<T>& list = model::list_of<T>(workspace_.project());
    if (place < list.size()) choose(list[place].id);
  }
  [[nodiscard]] const T* current() const { return model_->rowAt(table_->currentIndex()); }

 private:
  QWidget* makeLeft(QWidget* parent) {
    auto* left = new QWidget(parent);
    auto* column = new QVBoxLayout(left);
    column->setContentsMargins(0, 0, Theme::gap, 0);
    table_->setModel(model_);
    setUpTable(table_, words_.list);
    table_->horizontalHeader()->setSectionResizeMode(QHeaderView::Interactive);
    for (int i = 0; i < model_->columnCount(); ++i)
      table_->setColumnWidth(i, table_->fontMetrics().averageCharWidth() * model_->lettersOf(i));
    auto* bar = new QHBoxLayout;
    bar->addWidget(makeButton(
        left, QStringLiteral("add"), words_.add, words_.addTip,
        [this] { add(fresh_(), words_.add); }, QKeySequence(Qt::Key_Insert), table_));
    // In short, as the list beside says of what; its name is whole.
    duplicate_ = makeButton(
        left, {}, Section::tr("Duplicate"), words_.duplicate, [this] { duplicate(); },
        QKeySequence(Qt::CTRL | Qt::Key_D), table_);
    duplicate_->setAccessibleName(words_.duplicate);
    remove_ = makeButton(
        left, QStringLiteral("remove"), Section::tr("Remove"), words_.remove, [this] { remove(); },
        QKeySequence(Qt::Key_Delete), table_);
    remove_->setAccessibleName(words_.remove);
    bar->addWidget(duplicate_);
    bar->addWidget(remove_);
    bar->addStretch();
    column->addLayout(bar);
    stack_->addWidget(table_);
    QLabel* empty = makeLabel(stack_, words_.empty, "muted");
    empty->setAlignment(Qt::AlignCenter);
    stack_->addWidget(empty);
    column->addWidget(stack_, 1);
    return left;
  }

  QWidget* makeRight(QWidget* parent) {
    auto* right = new QWidget(parent);
    auto* column = new QVBoxLayout(right);
    column->setContentsMargins(Theme::gap, 0, 0, 0);
    snags_ = makeLabel(right, {}, "warning");
    snags_->setTextInteractionFlags(Qt::TextSelectableByMouse);
    column->addWidget(snags_);
    column->addWidget(makeFormScroll(form_, right), 1);
    return right;
  }

  void choose(Id<T> id) {
    selectRow(table_, model_->rowOf(id));
    table_->setFocus();
  }
  void add(T value, QString step) {
    value.id = {};
    std::vector<model::Edit> edits;
    if (manners_.withAdd) edits = manners_.withAdd(value);
    edits.emplace_back(model::Add<T>{std::move(value), std::nullopt});  // last: its id is looked up
    if (workspace_.perform(step.remove(QLatin1Char('&')), edits))
      choose(model::last_drawn<T>(workspace_.project()));
  }
  void duplicate() {
    const T* chosen = current();
    if (chosen == nullptr) return;
    T copy = *chosen;
    copy.name = utf8(words_.copyName.arg(text(copy.name)));
    if (manners_.renew) manners_.renew(copy);
    add(std::move(copy), words_.duplicate);
  }
  void remove() {
    const T* chosen = current();
    if (chosen == nullptr) return;
    (void)workspace_.perform(
        words_.remove, manners_.remove ? manners_.remove(*chosen)
                                       : std::vector<model::Edit>{model::Remove<T>{chosen->id}});
  }
  void refresh() {
    const T* chosen = current();
    stack_->setCurrentIndex(model_->rowCount() > 0 ? 0 : 1);
    duplicate_->setEnabled(chosen != nullptr);
    remove_->setEnabled(chosen != nullptr);
    form_->setEntity(chosen == nullptr ? Id<T>() : chosen->id);
    snags_->setText(chosen == nullptr ? QString() : model_->snagsOf(chosen->id));
    snags_->setVisible(!snags_->text().isEmpty());
  }

  Workspace& workspace_;
  SectionWords words_;
  std::function<T()> fresh_;
  SectionManners<T> manners_;
  EntityForm<T>* form_;
  SectionModel<T>* model_;
  QTableView* table_;
  QStackedWidget* stack_;
  QPushButton* duplicate_ = nullptr;
  QPushButton* remove_ = nullptr;
  QLabel* snags_ = nullptr;
};

}  // namespace fourbeat::ui
