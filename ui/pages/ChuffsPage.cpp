// SPDX-License-Identifier: GPL-3.0-or-later
#include "ChuffsPage.h"

#include "BeatEditor.h"
#include "ChuffHearing.h"
#include "ChuffTablePanel.h"
#include "CoverageView.h"
#include "EffortPanel.h"
#include "Fields.h"
#include "RevolutionPanel.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/ChuffRowModel.h"

#include "fourbeat/work/chuff_builder.h"

#include <QHBoxLayout>
#include <QLabel>
#include <QListWidget>
#include <QPushButton>
#include <QShortcut>
#include <QSignalBlocker>
#include <QSplitter>
#include <QStackedWidget>
#include <QTabWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr int takesWidth = 270;

/// The project less the table's rows of one condition: they are built from the takes chosen, and
/// from no others.
model::Project withoutCondition(model::Project project, model::Condition condition) {
  std::erase_if(project.chuffs.rows,
                [condition](const model::ChuffRow& row) { return row.condition == condition; });
  return project;
}

}  // namespace

ChuffsPage::ChuffsPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, parent),
      model_(new ChuffRowModel(workspace, this)),
      takes_(new QListWidget(this)),
      build_(makeButton(this, QStringLiteral("chuffs"), tr("Build table"),
                        tr("Follow the beats of the takes chosen, and build the table from whole "
                           "revolutions (Ctrl+B)"))),
      stack_(new QStackedWidget(this)),
      table_(new QTableView(this)),
      remove_(makeButton(this, QStringLiteral("remove"), tr("Remove row"),
                         tr("Remove the chosen row (Delete)"))),
      coverage_(new CoverageView(this)),
      hearing_(new ChuffHearing(workspace, this)),
      revolutions_(new RevolutionPanel(workspace, this)),
      beats_(new BeatEditor(workspace, this)),
      whole_(new ChuffTablePanel(workspace, this)),
      tabs_(new QTabWidget(this)) {
  makeLayout();
  makeKeys();
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          &ChuffsPage::rowChosen);
  connect(model_, &QAbstractItemModel::rowsRemoved, this, &ChuffsPage::rowChosen);
  connect(coverage_, &CoverageView::rowClicked, this, &ChuffsPage::choose);
  connect(takes_, &QListWidget::itemChanged, this, &ChuffsPage::refreshNeed);
  connect(build_, &QPushButton::clicked, this, &ChuffsPage::build);
  connect(remove_, &QPushButton::clicked, this, &ChuffsPage::removeRow);
  connect(revolutions_, &RevolutionPanel::othersWanted, this, &ChuffsPage::findOthers);
  connect(&workspace.document(), &Document::changed, this, &ChuffsPage::refresh);
  connect(takes_, &QListWidget::currentItemChanged, this, &ChuffsPage::takeChosen);
  connect(tabs_, &QTabWidget::currentChanged, this, &ChuffsPage::refreshNeed);
  refresh();
}

void ChuffsPage::makeLayout() {
  auto* whole = new QVBoxLayout(this);
  whole->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  whole->setSpacing(Theme::gap);
  auto* splitter = new QSplitter(Qt::Vertical, this);
  splitter->setChildrenCollapsible(false);
  auto* top = new QWidget(splitter);
  auto* row = new QHBoxLayout(top);
  row->setContentsMargins(0, 0, 0, 0);
  row->setSpacing(Theme::wide);

  auto* from = new QVBoxLayout;
  from->setSpacing(Theme::tight);
  auto* fromName = new QLabel(tr("Build from these &takes"), top);
  fromName->setBuddy(takes_);
  from->addWidget(fromName);
  takes_->setAccessibleName(tr("Takes to build from"));
  takes_->setToolTip(tr("Return chooses a take or leaves it out"));
  takes_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  takes_->setTextElideMode(Qt::ElideMiddle);
  takes_->setFixedWidth(takesWidth);
  from->addWidget(takes_, 1);
  from->addWidget(build_);
  coverage_->setFixedWidth(takesWidth);
  from->addWidget(coverage_);
  row->addLayout(from);

  auto* middle = new QVBoxLayout;
  middle->setSpacing(Theme::tight);
  auto* empty = new QLabel(
      tr("No chuffs yet.\nChoose takes with a running engine and press Build table."), stack_);
  empty->setAlignment(Qt::AlignCenter);
  empty->setWordWrap(true);
  stack_->addWidget(empty);
  table_->setModel(model_);
  setUpTable(table_, tr("Rows of the chuff table"), ChuffRowModel::stateColumn);
  table_->setToolTip(tr("Double click or F2 to change speeds and effort"));
  const NumberForm speed{0, 1000, 1, 1, tr(" km/h")};
  table_->setItemDelegateForColumn(ChuffRowModel::fromColumn, new NumberDelegate(speed, this));
  table_->setItemDelegateForColumn(ChuffRowModel::toColumn, new NumberDelegate(speed, this));
  table_->setItemDelegateForColumn(
      ChuffRowModel::effortColumn,
      new ChoiceDelegate(
          [] {
            ChoiceDelegate::Choices choices;
            for (const model::Effort effort :
                 {model::Effort::drifting, model::Effort::easy, model::Effort::hard}) {
              choices.append({word(effort), static_cast<int>(effort)});
            }
            return choices;
          },
          false, this));
  stack_->addWidget(table_);
  middle->addWidget(stack_, 1);
  auto* under = new QHBoxLayout;
  under->addWidget(remove_);
  under->addStretch(1);
  middle->addLayout(under);
  row->addLayout(middle, 1);
  splitter->addWidget(top);

  tabs_->setAccessibleName(tr("About the chuff table"));
  tabs_->setDocumentMode(true);
  tabs_->addTab(hearing_, tr("Hear"));
  tabs_->addTab(revolutions_, tr("Revolutions"));
  tabs_->addTab(beats_, tr("Beats of the take"));
  tabs_->addTab(whole_, tr("Table and build"));
  splitter->addWidget(tabs_);
  splitter->setStretchFactor(0, 2);
  splitter->setStretchFactor(1, 3);
  splitter->setSizes({270, 380});
  whole->addWidget(splitter, 1);
  setFocusProxy(table_);
}

void ChuffsPage::makeKeys() {
  auto* erase = new QShortcut(QKeySequence::Delete, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(erase, &QShortcut::activated, this, &ChuffsPage::removeRow);
  // Space plays, in the whole window.
  auto* check = new QShortcut(Qt::Key_Return, takes_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(check, &QShortcut::activated, this, [this] {
    QListWidgetItem* item = takes_->currentItem();
    if (item == nullptr) return;
    item->setCheckState(item->checkState() == Qt::Checked ? Qt::Unchecked : Qt::Checked);
  });
  auto* hear = new QShortcut(Qt::Key_Return, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(hear, &QShortcut::activated, hearing_, &ChuffHearing::hearRow);
  const auto key = [this](const QKeySequence& keys, auto slot) {
    auto* shortcut = new QShortcut(keys, this, nullptr, nullptr, Qt::WindowShortcut);
    connect(shortcut, &QShortcut::activated, this, slot);
  };
  key(Qt::CTRL | Qt::Key_B, [this] { build(); });
  key(Qt::CTRL | Qt::Key_Return, [this] { hearing_->hearSweep(); });
}

void ChuffsPage::choose(Id<model::ChuffRow> row) {
  selectRow(table_, model_->rowOf(row.value()));
}

void ChuffsPage::rowChosen() {
  row_ = Id<model::ChuffRow>(model_->idAt(selectedRow(table_)));
  remove_->setEnabled(row_.is_set());
  coverage_->setChosen(row_);
  hearing_->setRow(row_);
  revolutions_->setRow(row_);
}

void ChuffsPage::takeChosen() {
  const QListWidgetItem* item = takes_->currentItem();
  beats_->setTake(item != nullptr ? Id<model::Take>(item->data(Qt::UserRole).toLongLong())
                                  : Id<model::Take>());
}

std::vector<Id<model::Take>> ChuffsPage::takesChosen() const {
  std::vector<Id<model::Take>> chosen;
  for (int i = 0; i < takes_->count(); ++i) {
    if (takes_->item(i)->checkState() == Qt::Checked) {
      chosen.emplace_back(takes_->item(i)->data(Qt::UserRole).toLongLong());
    }
  }
  return chosen;
}

void ChuffsPage::refreshTakes() {
  const model::Project& project = workspace().project();
  const std::vector<Id<model::Take>> chosen = takesChosen();
  const std::vector<Id<model::Take>> used = work::takes_of_table(project.chuffs);
  const QSignalBlocker quiet(takes_);
  const int current = takes_->currentRow();
  const auto holds = [](const std::vector<Id<model::Take>>& list, Id<model::Take> take) {
    return std::find(list.begin(), list.end(), take) != list.end();
  };
  takes_->clear();
  QSet<qint64> now;
  for (const model::Take& take : project.takes) {
    const QString name = pathText(textPath(text(take.path)).filename());
    const bool in = holds(used, take.id);
    auto* item = new QListWidgetItem(name, takes_);
    if (in) {
      item->setIcon(Theme::instance().icon(QStringLiteral("chuffs")));
      item->setData(Qt::AccessibleTextRole, tr("%1, in the table").arg(name));
    }
    item->setData(Qt::UserRole, static_cast<qlonglong>(take.id.value()));
    item->setFlags(Qt::ItemIsEnabled | Qt::ItemIsSelectable | Qt::ItemIsUserCheckable);
    // A take new to the list is chosen when the table is cut from it; else as it was left.
    const bool check = known_.contains(take.id.value()) ? holds(chosen, take.id) : in;
    item->setCheckState(check ? Qt::Checked : Qt::Unchecked);
    item->setToolTip(in ? tr("%1: the table is cut from it").arg(text(take.path))
                        : text(take.path));
    now.insert(take.id.value());
  }
  known_ = now;
  takes_->setCurrentRow(std::min(std::max(current, 0), takes_->count() - 1));
  takeChosen();
}

void ChuffsPage::refresh() {
  const model::Project& project = workspace().project();
  refreshTakes();
  stack_->setCurrentIndex(project.chuffs.rows.empty() ? 0 : 1);
  coverage_->show(project.chuffs, project.engine.top_speed_kmh);
  remove_->setEnabled(row_.is_set());
  refreshNeed();
}

void ChuffsPage::refreshNeed() {
  const model::Project& project = workspace().project();
  build_->setEnabled(!takesChosen().empty());
  if (project.takes.empty()) {
    setNeed(tr("Chuffs are cut from takes: add recordings on the Takes page first."));
  } else if (project.chuffs.rows.empty()) {
    setNeed(takesChosen().empty()
                ? tr("Choose takes with a running engine and press Build table.")
                : tr("Press Build table. The engine's figures on the Takes page help it."));
  } else {
    for (const work::EffortCoverage& each :
         work::coverage_of(project.chuffs, project.engine.top_speed_kmh)) {
      if (each.covered.empty() || each.missing.empty()) continue;
      setNeed(tr("%1: no row serves %2 to %3. Widen a row, or build from another take.")
                  .arg(word(each.effort))
                  .arg(QLocale().toString(each.missing.front().from_kmh, 'f', 1),
                       speedText(each.missing.front().to_kmh)));
      return;
    }
    setNeed(
        tabs_->currentWidget() == beats_
            ? tr("Drag a beat to move it; Insert and Delete put one in at the playhead, or take "
                 "it out. Space plays the take.")
            : tr("Space plays the row or sweep shown, Ctrl+Return a sweep of the whole table."));
  }
}

void ChuffsPage::build() {
  const std::vector<Id<model::Take>> takes = takesChosen();
  if (takes.empty()) return;
  const work::ChuffPlan plan = whole_->plan();
  workspace().jobs().run<work::ChuffBuild>(
      tr("Building the chuff table"), this,
      [planned = withoutCondition(workspace().project(), plan.condition),
       folder = workspace().document().folder(), takes,
       plan](JobControl& job) { return work::refresh_chuffs(planned, folder, takes, job, plan); },
      [this](Result<work::ChuffBuild> build) {
        if (!build) {
          workspace().tell(build.error());
          return;
        }
        if (!workspace().perform(tr("Build chuff table"), build->edits)) return;
        revolutions_->setBuild(*build);
        whole_->effort()->setHeard(build->effort);
        workspace().tell(tr("%1 beats, %2 whole revolutions, %3 rows.")
                             .arg(build->beats)
                             .arg(build->revolutions)
                             .arg(workspace().project().chuffs.rows.size()),
                         false);
        if (model_->rowCount() > 0) selectRow(table_, 0);
      },
      QStringLiteral("chuff table"));
}

void ChuffsPage::findOthers() {
  const model::Project& project = workspace().project();
  const model::ChuffRow* row = model::find(project, revolutions_->row());
  if (row == nullptr) return;
  work::ChuffPlan plan = whole_->plan();
  plan.condition = row->condition;
  std::vector<Id<model::Take>> takes = work::takes_of_table(project.chuffs, plan.condition);
  workspace().jobs().run<work::ChuffBuild>(
      tr("Looking for other revolutions"), this,
      [planned = withoutCondition(project, plan.condition),
       folder = workspace().document().folder(), takes = std::move(takes),
       plan](JobControl& job) { return work::refresh_chuffs(planned, folder, takes, job, plan); },
      [this](Result<work::ChuffBuild> build) {
        if (!build) return workspace().tell(build.error());
        revolutions_->setBuild(*build);
      },
      QStringLiteral("chuff table"));
}

void ChuffsPage::removeRow() {
  if (!row_.is_set()) return;
  workspace().perform(tr("Remove chuff row"), {model::Remove<model::ChuffRow>{row_}});
}

void ChuffsPage::playRequested() {
  if (tabs_->currentWidget() == beats_) {
    beats_->play();
  } else if (tabs_->currentWidget() == revolutions_ && revolutions_->table()->hasFocus()) {
    revolutions_->hear();
  } else {
    hearing_->hear();
  }
}

bool ChuffsPage::shows(const QString& pointer) const {
  return pointer == QStringLiteral("/chuffs") || pointer.startsWith(QStringLiteral("/chuffs/"));
}

void ChuffsPage::reveal(const QString& pointer) {
  const auto& rows = workspace().project().chuffs.rows;
  const auto place = placeIn(pointer, QStringLiteral("/chuffs/rows"));
  if (place && static_cast<std::size_t>(*place) < rows.size()) {
    choose(rows[static_cast<std::size_t>(*place)].id);
  }
}

void ChuffsPage::entered() {
  refresh();
  if (!row_.is_set() && model_->rowCount() > 0) selectRow(table_, 0);
}

}  // namespace fourbeat::ui
