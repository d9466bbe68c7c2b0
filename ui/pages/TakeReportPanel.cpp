// SPDX-License-Identifier: GPL-3.0-or-later
#include "TakeReportPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/ChannelListModel.h"

#include "fourbeat/store/takes.h"

#include <QLabel>
#include <QTableView>
#include <QVBoxLayout>

namespace fourbeat::ui {

TakeReportPanel::TakeReportPanel(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      model_(new ChannelListModel(workspace, this)),
      table_(new QTableView(this)),
      summary_(makeNote(this, tr("Take report in short"))) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  column->setSpacing(Theme::tight);
  table_->setModel(model_);
  setUpTable(table_, tr("Channels of the take"), ChannelListModel::positionColumn);
  table_->setEditTriggers(QAbstractItemView::DoubleClicked | QAbstractItemView::EditKeyPressed |
                          QAbstractItemView::SelectedClicked);
  table_->setToolTip(tr("Double click or F2 to say where a microphone stood"));
  table_->setItemDelegateForColumn(
      ChannelListModel::positionColumn,
      new ChoiceDelegate(
          [] {
            // Positions are free words; the day sheet names these.
            ChoiceDelegate::Choices choices;
            for (const QString& position :
                 {tr("chimney"), tr("firebox side"), tr("motion"), tr("cab"), tr("lineside")})
              choices.append({position, position});
            return choices;
          },
          true, this));
  column->addWidget(table_, 1);
  column->addWidget(summary_);
}

void TakeReportPanel::setTake(Id<model::Take> take) {
  take_ = take;
  refresh();
}

void TakeReportPanel::showEvent(QShowEvent* event) {
  QWidget::showEvent(event);
  refresh();
}

QString TakeReportPanel::summary() const {
  return summary_->text();
}

void TakeReportPanel::refresh() {
  const model::Take* take = model::find(workspace_.project(), take_);
  const QString hash = take != nullptr ? text(take->sha256) : QString();
  const Report report = known_.value(hash);
  model_->show(take_, report);
  if (take == nullptr) {
    summary_->clear();
    return;
  }
  if (report) {
    QStringList amiss;
    int channel = 0;
    for (const audio::ChannelReport& each : report->channels) {
      ++channel;
      if (each.flat_tops > 0) {
        amiss << tr("channel %1 is clipped in %2 places").arg(channel).arg(each.flat_tops);
      }
      if (each.dropouts > 0) amiss << tr("channel %1 has dropouts").arg(channel);
      if (!each.rms_dbfs) amiss << tr("channel %1 is silent").arg(channel);
    }
    summary_->setText(amiss.isEmpty() ? tr("No flat tops, no dropouts.")
                                      : tr("Listen closely: %1.").arg(amiss.join(tr(", "))));
    return;
  }
  if (troubles_.contains(hash)) {
    summary_->setText(troubles_.value(hash));
    return;
  }
  summary_->setText(tr("Reading the take …"));
  if (!isVisible() || running_ == hash) return;
  const auto file = store::take_path(workspace_.document().folder(), *take, true);
  if (!file) return;
  running_ = hash;
  workspace_.jobs().run<Report>(
      tr("Take report of %1").arg(text(take->path)), this,
      [path = *file](JobControl& job) -> Result<Report> {
        Result<audio::TakeReport> made = audio::report_take(path, job);
        if (!made) return made.error();
        return std::make_shared<const audio::TakeReport>(std::move(*made));
      },
      [this, hash](Result<Report> made) {
        if (running_ == hash) running_.clear();
        if (made) {
          known_.insert(hash, *made);
        } else {
          troubles_.insert(hash, errorLine(made.error()));
        }
        refresh();
      },
      QStringLiteral("take report"));
}

}  // namespace fourbeat::ui
