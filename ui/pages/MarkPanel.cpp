// SPDX-License-Identifier: GPL-3.0-or-later
#include "MarkPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/MarkListModel.h"
#include "views/TrackView.h"

#include "fourbeat/model/take.h"

#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QShortcut>
#include <QTableView>
#include <QVBoxLayout>

namespace fourbeat::ui {

namespace {

/// Kinds that name what is heard; the others come from edits of beats and efforts.
constexpr int kinds = model::first_hand_set_kind;

ChoiceDelegate::Choices kindChoices() {
  ChoiceDelegate::Choices choices;
  for (int kind = 0; kind < kinds; ++kind)
    choices.append({word(static_cast<model::MarkKind>(kind)), kind});
  return choices;
}

}  // namespace

MarkPanel::MarkPanel(Workspace& workspace, TrackView& track, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      track_(track),
      model_(new MarkListModel(workspace, this)),
      kind_(new QComboBox(this)),
      label_(makeLine(this, tr("Label of the next mark"))),
      add_(makeButton(this, QStringLiteral("mark"), tr("Add mark"),
                      tr("Mark the selection, or the place of the playhead (M)"))),
      remove_(makeButton(this, QStringLiteral("remove"), tr("Remove mark"),
                         tr("Remove the selected mark (Delete)"))),
      table_(new QTableView(this)) {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  row->setSpacing(Theme::wide);
  table_->setModel(model_);
  setUpTable(table_, tr("Marks of the take"), MarkListModel::labelColumn);
  table_->setToolTip(tr("Double click or F2 to change kind, label, start and length"));
  table_->setItemDelegateForColumn(MarkListModel::kindColumn,
                                   new ChoiceDelegate(kindChoices, false, this));
  auto* seconds = new NumberDelegate({0, mostSeconds, 3, 0.01, tr(" s")}, this);
  table_->setItemDelegateForColumn(MarkListModel::startColumn, seconds);
  table_->setItemDelegateForColumn(MarkListModel::lengthColumn, seconds);
  row->addWidget(table_, 1);
  auto* side = new QVBoxLayout;
  side->setSpacing(Theme::tight);
  const auto field = [&](const QString& words, QWidget* widget) {
    auto* name = new QLabel(words, this);
    name->setBuddy(widget);
    side->addWidget(name);
    side->addWidget(widget);
  };
  for (const auto& [words, value] : kindChoices())
    kind_->addItem(words, value);
  kind_->setAccessibleName(tr("Kind of the next mark"));
  kind_->setCurrentIndex(kind_->findData(static_cast<int>(model::MarkKind::other)));
  field(tr("&Kind"), kind_);
  field(tr("&Label"), label_);
  label_->setPlaceholderText(tr("For “unusable”: the reason"));
  side->addWidget(add_);
  side->addWidget(remove_);
  side->addStretch(1);
  row->addLayout(side);
  connect(add_, &QPushButton::clicked, this, &MarkPanel::addMark);
  connect(remove_, &QPushButton::clicked, this, &MarkPanel::removeMark);
  auto* erase = new QShortcut(QKeySequence::Delete, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(erase, &QShortcut::activated, this, &MarkPanel::removeMark);
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this, [this] {
    refresh();
    const model::Mark* mark =
        model::find(workspace_.project(), Id<model::Mark>(model_->idAt(selectedRow(table_))));
    if (mark == nullptr || mark->range.empty()) return;
    track_.showRange(mark->range);
  });
  connect(model_, &QAbstractItemModel::rowsRemoved, this, &MarkPanel::refresh);
  refresh();
}

void MarkPanel::setTake(Id<model::Take> take) {
  take_ = take;
  model_->setTake(take);
  refresh();
}

void MarkPanel::choose(Id<model::Mark> mark) {
  selectRow(table_, model_->rowOf(mark.value()));
}

void MarkPanel::addMark() {
  if (!take_.is_set()) return;
  model::Mark mark;
  mark.take = take_;
  mark.kind = static_cast<model::MarkKind>(kind_->currentData().toInt());
  mark.label = utf8(label_->text().trimmed());
  const std::optional<FrameRange> selection = track_.selection();
  mark.range = selection && !selection->empty() ? *selection
                                                : FrameRange{track_.playhead(), track_.playhead()};
  if (!workspace_.perform(tr("Add mark"), {model::Add<model::Mark>{mark, std::nullopt}})) return;
  label_->clear();
  selectRow(table_, model_->rowCount() - 1);
}

void MarkPanel::removeMark() {
  const qint64 id = model_->idAt(selectedRow(table_));
  if (id == 0) return;
  workspace_.perform(tr("Remove mark"), {model::Remove<model::Mark>{Id<model::Mark>(id)}});
}

void MarkPanel::refresh() {
  add_->setEnabled(take_.is_set());
  remove_->setEnabled(model_->idAt(selectedRow(table_)) != 0);
}

}  // namespace fourbeat::ui
