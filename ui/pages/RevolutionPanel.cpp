// SPDX-License-Identifier: GPL-3.0-or-later
#include "RevolutionPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/RevolutionModel.h"

#include "fourbeat/store/takes.h"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QPushButton>
#include <QShortcut>
#include <QTableView>
#include <QVBoxLayout>

namespace fourbeat::ui {

namespace {

constexpr double before_s = 0.3;  ///< heard before a revolution, and after it

}  // namespace

RevolutionPanel::RevolutionPanel(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      model_(new RevolutionModel(workspace, this)),
      table_(new QTableView(this)),
      note_(makeNote(this, tr("Revolutions in short"))),
      hear_(makeButton(this, QStringLiteral("play"), tr("Hear it in its take"),
                       tr("Play the revolution where it was recorded (Return)"))),
      swap_(makeButton(this, QStringLiteral("repeat"), tr("Swap in"),
                       tr("Play it in the place of the row's weakest revolution"))),
      add_(makeButton(this, QStringLiteral("add"), tr("Add to row"),
                      tr("Play it in turn with the row's others"))),
      out_(makeButton(this, QStringLiteral("remove"), tr("Take out"),
                      tr("Let the row play its others without this one"))),
      others_(makeButton(this, QStringLiteral("search"), tr("Find others"),
                         tr("Look through the table's takes for what else its rows could play; "
                            "the table stays as it is"))) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, Theme::tight, 0, 0);
  column->setSpacing(Theme::tight);
  column->addWidget(note_);
  table_->setModel(model_);
  setUpTable(table_, tr("Revolutions for the row, best first"), RevolutionModel::reasonColumn);
  table_->setEditTriggers(QAbstractItemView::NoEditTriggers);
  column->addWidget(table_, 1);
  auto* row = new QHBoxLayout;
  row->setSpacing(Theme::tight);
  for (QPushButton* button : {hear_, swap_, add_, out_})
    row->addWidget(button);
  row->addStretch(1);
  row->addWidget(others_);
  column->addLayout(row);
  connect(others_, &QPushButton::clicked, this, &RevolutionPanel::othersWanted);
  connect(hear_, &QPushButton::clicked, this, &RevolutionPanel::hear);
  connect(swap_, &QPushButton::clicked, this, &RevolutionPanel::swapIn);
  connect(add_, &QPushButton::clicked, this, &RevolutionPanel::add);
  connect(out_, &QPushButton::clicked, this, &RevolutionPanel::takeOut);
  auto* play = new QShortcut(Qt::Key_Return, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(play, &QShortcut::activated, this, &RevolutionPanel::hear);
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          &RevolutionPanel::refresh);
  connect(&workspace.document(), &Document::changed, this, &RevolutionPanel::refresh);
  refresh();
}

void RevolutionPanel::setBuild(const work::ChuffBuild& build) {
  found_.clear();
  const auto& rows = workspace_.project().chuffs.rows;
  for (work::RowCandidates& each : work::candidates_for(workspace_.project().chuffs, build))
    found_[rows[each.row].id] = std::move(each.candidates);
  const Id<model::ChuffRow> shown = row_;
  row_ = {};
  setRow(shown);
}

void RevolutionPanel::setRow(Id<model::ChuffRow> row) {
  if (row == row_) return;
  row_ = row;
  const auto found = found_.find(row);
  model_->setCandidates(
      found != found_.end() ? found->second : std::vector<work::RevolutionCandidate>(), row);
  if (model_->rowCount() > 0) selectRow(table_, 0);
  refresh();
}

int RevolutionPanel::weakestInRow() const {
  int place = -1;
  double least = 2.0;
  for (int i = 0; i < model_->rowCount(); ++i) {
    const int played = model_->placeInRow(i);
    if (played < 0 || model_->candidate(i)->quality.total >= least) continue;
    least = model_->candidate(i)->quality.total;
    place = played;
  }
  return std::max(place, 0);
}

void RevolutionPanel::refresh() {
  const model::ChuffRow* row = model::find(workspace_.project(), row_);
  const int chosen = selectedRow(table_);
  const bool there = row != nullptr && model_->candidate(chosen) != nullptr;
  const bool played = there && model_->placeInRow(chosen) >= 0;
  hear_->setEnabled(there);
  swap_->setEnabled(there && !played && !row->revolutions.empty());
  add_->setEnabled(there && !played);
  out_->setEnabled(played && row->revolutions.size() > 1);
  others_->setEnabled(row != nullptr && !row->derived && !row->fused);
  if (row == nullptr) {
    note_->setText(tr("Choose a row above."));
  } else if (row->derived) {
    note_->setText(tr("Derived from the row recorded about %1: nothing was recorded at these "
                      "speeds.")
                       .arg(speedText(row->derived->recorded_kmh)));
  } else if (row->fused) {
    note_->setText(tr("Beats fuse here: the row plays a loop recorded at %1.")
                       .arg(speedText(row->fused->recorded_kmh)));
  } else if (model_->rowCount() == 0) {
    note_->setText(tr("%1 revolutions. Press Find others to see what else the row could play.")
                       .arg(row->revolutions.size()));
  } else {
    note_->setText(tr("%1 revolutions, of %2 to choose from.")
                       .arg(row->revolutions.size())
                       .arg(model_->rowCount()));
  }
}

void RevolutionPanel::swapIn() {
  const work::RevolutionCandidate* chosen = model_->candidate(selectedRow(table_));
  if (chosen == nullptr) return;
  const Result<model::Edit> edit = work::use_candidate(
      workspace_.project(), row_, static_cast<std::size_t>(weakestInRow()), *chosen);
  if (!edit) return workspace_.tell(edit.error());
  workspace_.perform(tr("Swap revolution"), {*edit});
}

void RevolutionPanel::add() {
  const work::RevolutionCandidate* chosen = model_->candidate(selectedRow(table_));
  const model::ChuffRow* row = model::find(workspace_.project(), row_);
  if (chosen == nullptr || row == nullptr) return;
  const Result<model::Edit> edit =
      work::use_candidate(workspace_.project(), row_, row->revolutions.size(), *chosen);
  if (!edit) return workspace_.tell(edit.error());
  workspace_.perform(tr("Add revolution"), {*edit});
}

void RevolutionPanel::takeOut() {
  const model::ChuffRow* row = model::find(workspace_.project(), row_);
  const int place = model_->placeInRow(selectedRow(table_));
  if (row == nullptr || place < 0 || row->revolutions.size() < 2) return;
  model::ChuffRow changed = *row;
  changed.revolutions.erase(changed.revolutions.begin() + place);
  workspace_.perform(tr("Take revolution out"), {model::Replace<model::ChuffRow>{changed}});
}

void RevolutionPanel::hear() {
  const work::RevolutionCandidate* chosen = model_->candidate(selectedRow(table_));
  if (chosen == nullptr) return;
  const std::shared_ptr<TakeMedia> media = workspace_.media().of(chosen->take);
  const model::Take* take = model::find(workspace_.project(), chosen->take);
  if (!media || take == nullptr || chosen->revolution.chuffs.empty()) return;
  const double rate = take->sample_rate_hz;
  const FrameCount about(std::llround(before_s * rate));
  const FrameCount turn =
      chosen->revolution.chuffs.back().range.end - chosen->revolution.chuffs.front().beat_frame;
  PlayRequest request;
  std::vector<float> gains(static_cast<std::size_t>(take->channels), 0.0F);
  for (const model::MixInput& input : chosen->revolution.source.mix) {
    if (input.channel >= 1 && input.channel <= take->channels) {
      gains[static_cast<std::size_t>(input.channel - 1)] = 1.0F;
    }
  }
  request.source = TakeSource{media->path(), media->info(), gains};
  request.range = {std::max(FrameIndex(0), chosen->first_beat - about),
                   std::min(FrameIndex(0) + take->frames, chosen->first_beat + turn + about)};
  request.from = request.range.start;
  request.repeat = workspace_.transport().repeats();
  request.title = tr("Revolution at %1").arg(speedText(chosen->speed_kmh));
  request.key = QStringLiteral("revolution/%1").arg(chosen->first_beat.value());
  workspace_.transport().play(request);
}

}  // namespace fourbeat::ui
