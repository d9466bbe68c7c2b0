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

#include "fourbeat/base/files.h"
#include "fourbeat/store/data_files.h"

#include <QCheckBox>
#include <QHBoxLayout>
#include <QStackedWidget>
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
  panel_ = new DrivePanel(stack_);
  stack_->addWidget(panel_);
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
  connect(hand_, &HandDrive::clock, panel_, &DrivePanel::setClock);
  connect(hand_, &HandDrive::recorded, this, &TrialRunPage::keepCard);
  connect(hand_, &HandDrive::happened, this, [this](const std::vector<drive::Event>& events) {
    for (const drive::Event& event : events)
      panel_->take(event);
    events_->append(events);
    list_->scrollToBottom();
  });
  connect(hand_, &HandDrive::ended, this, [this] {
    panel_->end();
    stack_->setCurrentIndex(0);
    drive_->setFocus();
  });
}

void TrialRunPage::beginDrive(const model::Project& project, int voices) {
  events_->beginLog(hand_->live()->sampleRateHz(), keyNamesOf(project));
  stack_->setCurrentWidget(panel_);
  panel_->begin(project, voices);
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
