// SPDX-License-Identifier: GPL-3.0-or-later
// The trial run page while the set is driven by hand.
#include "DrivePanel.h"
#include "Fields.h"
#include "HandDrive.h"
#include "PageParts.h"
#include "TrialRunPage.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/DriveEventModel.h"
#include "models/RunChart.h"
#include "views/DriveTimeline.h"

#include "fourbeat/base/files.h"
#include "fourbeat/store/data_files.h"

#include <QCheckBox>
#include <QHBoxLayout>
#include <QScrollBar>
#include <QSplitter>
#include <QTableView>
#include <filesystem>
#include <utility>

namespace fourbeat::ui {

QWidget* TrialRunPage::makeDriveBar() {
  auto* panel = new QWidget(this);
  auto* row = new QHBoxLayout(panel);
  row->setContentsMargins(0, 0, 0, 0);
  state_ = makeLabel(this, {}, "muted");
  state_->setAccessibleName(tr("State of the run"));
  row->addWidget(state_, 1);
  record_ = new QCheckBox(tr("Rec&ord"), panel);
  record_->setAccessibleName(tr("Record the drive"));
  record_->setToolTip(
      tr("Keep what you do as a run card: from the start of the drive, or from now on"));
  row->addWidget(record_);
  drive_ = ui::makeButton(panel, QStringLiteral("trial"), tr("Drive &by hand"),
                          tr("Fit the set and drive it yourself, heard at once; again to stop"));
  drive_->setCheckable(true);
  row->addWidget(drive_);
  return panel;
}

void TrialRunPage::setUpDriving() {
  panel_ = new DrivePanel(split_);
  split_->insertWidget(0, panel_);
  arrange(false);
  hand_ = new HandDrive(workspace(), this);
  // clicked, not toggled: refreshDriving() shows in the buttons what goes on.
  connect(drive_, &QPushButton::clicked, this, [this](bool on) {
    if (on) {
      hand_->begin();
    } else {
      hand_->end();
    }
    refreshDriving();
  });
  connect(record_, &QCheckBox::clicked, hand_, &HandDrive::setRecording);
  connect(panel_, &DrivePanel::given, hand_, &HandDrive::give);
  connect(hand_, &HandDrive::changed, this, &TrialRunPage::refresh);
  connect(hand_, &HandDrive::begun, this, &TrialRunPage::beginDrive);
  connect(hand_, &HandDrive::clock, this, &TrialRunPage::follow);
  connect(hand_, &HandDrive::recorded, this, &TrialRunPage::keepCard);
  connect(hand_, &HandDrive::moved, this, [this](const std::vector<model::Move>& moves) {
    for (const model::Move& move : moves)
      drawn_->take(move);
  });
  connect(hand_, &HandDrive::happened, this, [this](const std::vector<drive::Event>& events) {
    for (const drive::Event& event : events) {
      panel_->take(event);
      drawn_->take(event);
    }
    const QScrollBar* bar = list_->verticalScrollBar();
    const bool atEnd = bar->value() >= bar->maximum();  // else one reads what was before
    events_->append(events);
    if (atEnd) list_->scrollToBottom();
  });
  connect(hand_, &HandDrive::ended, this, &TrialRunPage::endDrive);
}

void TrialRunPage::arrange(bool driving) {
  const int letter = fontMetrics().averageCharWidth();
  panel_->setVisible(driving);
  here_->setVisible(!driving);
  shown_->setOrientation(driving ? Qt::Vertical : Qt::Horizontal);
  shown_->setStretchFactor(0, 2);
  shown_->setStretchFactor(1, 1);
  if (driving) {
    split_->setSizes({letter * 72, letter * 82});
    shown_->setSizes({letter * 56, letter * 34});
  } else {
    shown_->setSizes({letter * 100, letter * 54});
  }
}

void TrialRunPage::beginDrive(const model::Project& project, int voices) {
  const QStringList names = keyNamesOf(project);
  const int rate_hz = hand_->live()->sampleRateHz();
  events_->beginLog(rate_hz, names);
  drawn_ = std::make_unique<ChartMaker>(rate_hz, names, model::last_step(LiveDrive::speed_steps),
                                        project.engine.top_speed_kmh);
  timeline_->setChart(drawn_->chart());
  arrange(true);
  panel_->begin(project, voices);
}

void TrialRunPage::follow(double seconds) {
  panel_->setClock(seconds);
  timeline_->grown(drawn_->reach(seconds));
}

void TrialRunPage::endDrive() {
  panel_->end();
  drawn_->end(drawn_->chart()->seconds);
  timeline_->rest();
  here_->setText(timeline_->chart()->line(timeline_->playhead()));
  arrange(false);
  drive_->setFocus();
}

QString TrialRunPage::drivenLine() const {
  if (hand_->isDriving())
    return hand_->isRecording() ? tr("Driven by hand, and recorded.") : tr("Driven by hand.");
  if (rendering_ || !drawn_) return {};
  return tr("Driven by hand for %1. Play and Render show the run card again.")
      .arg(timeText(drawn_->chart()->seconds));
}

void TrialRunPage::refreshDriving() {
  drive_->setChecked(hand_->isDriving() || hand_->isPreparing());
  drive_->setEnabled(!hand_->isPreparing());
  drive_->setText(hand_->isDriving() ? tr("Stop driving") : tr("Drive &by hand"));
  drive_->setAccessibleName(drive_->text().remove(QLatin1Char('&')));
  record_->setChecked(hand_->isRecording());
}

void TrialRunPage::keepCard(model::RunCard card) {
  const std::filesystem::path folder = workspace().document().folder() / "cards";
  std::error_code failed;
  std::filesystem::create_directories(folder, failed);  // a failure shows when the file is written
  std::filesystem::path file;
  int number = 0;
  do {
    file = folder / ("by-hand-" + std::to_string(++number) + ".json");
  } while (std::filesystem::exists(file, failed));
  card.title = utf8(tr("Driven by hand, %1").arg(number));
  const Status wrote = write_file_atomically(file, store::run_card_text(card));
  if (!wrote) return workspace().tell(wrote.error());
  addCard(pathText(file));
  workspace().tell(tr("The drive is kept as a run card: %1").arg(pathText(file)), false);
}

}  // namespace fourbeat::ui
