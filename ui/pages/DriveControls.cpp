// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveControls.h"

#include "DriveCommand.h"
#include "DriveGauges.h"
#include "Fields.h"
#include "PageParts.h"
#include "sound/LiveDrive.h"

#include "fourbeat/model/run_card.h"

#include <QButtonGroup>
#include <QCheckBox>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QLocale>
#include <QRadioButton>
#include <QSlider>

namespace fourbeat::ui {

namespace {

constexpr int percents = 100;
constexpr int gradientParts = 10;  ///< of a percent
constexpr int steepest_percent = 5;
constexpr int pageStep = 10;

}  // namespace

DriveControls::DriveControls(QWidget* parent) : QWidget(parent) {
  auto* grid = new QGridLayout(this);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setHorizontalSpacing(Theme::wide);
  grid->setVerticalSpacing(Theme::gap);
  grid->setColumnStretch(1, 1);
  addSliders(grid);
  addSwitches(grid);
}

QSlider* DriveControls::addSlider(QGridLayout* grid, const QString& name, int low, int high,
                                  const std::function<QString(int)>& figure,
                                  const std::function<void(int)>& moved) {
  const int row = grid->rowCount();
  auto* words = new QLabel(name, this);
  auto* slider = new QSlider(Qt::Horizontal, this);
  slider->setAccessibleName(words->text().remove(QLatin1Char('&')));
  slider->setRange(low, high);
  slider->setPageStep(pageStep);
  words->setBuddy(slider);
  QLabel* shown = addDriveFigure(grid, row, this);
  shown->setText(figure(slider->value()));
  connect(slider, &QSlider::valueChanged, this, [this, shown, figure, moved](int value) {
    shown->setText(figure(value));
    if (driving_) moved(value);
  });
  grid->addWidget(words, row, 0);
  grid->addWidget(slider, row, 1);
  return slider;
}

void DriveControls::addSliders(QGridLayout* grid) {
  using drive::CommandKind;
  constexpr int last = model::last_step(LiveDrive::speed_steps);
  regulator_ = addSlider(
      grid, tr("Reg&ulator"), 0, last,
      [](int value) { return value == 0 ? tr("shut") : tr("%1 of %2").arg(value).arg(last); },
      [this](int value) { Q_EMIT given(commandOf(CommandKind::throttle_step, value)); });
  regulator_->setToolTip(tr("Up and down, ten steps with page up and page down, shut with home"));
  load_ = addSlider(
      grid, tr("&Load"), 0, percents, [](int value) { return tr("%1 %").arg(value); },
      [this](int value) {
        Q_EMIT given(commandOf(CommandKind::load, 0, static_cast<double>(value) / percents));
      });
  load_->setToolTip(tr("The train: nothing for the light engine, all for the heaviest"));
  gradient_ = addSlider(
      grid, tr("Gra&dient"), -steepest_percent * gradientParts, steepest_percent * gradientParts,
      [](int value) {
        return tr("%1 %").arg(
            QLocale().toString(static_cast<double>(value) / gradientParts, 'f', 1));
      },
      [this](int value) {
        Q_EMIT given(
            commandOf(CommandKind::gradient, 0, static_cast<double>(value) / gradientParts));
      });
  gradient_->setToolTip(tr("Of the line: above nothing it rises"));
}

void DriveControls::addSwitches(QGridLayout* grid) {
  using drive::CommandKind;
  auto* ways = new QHBoxLayout;
  forward_ = new QRadioButton(tr("Forward"), this);
  reverse_ = new QRadioButton(tr("Reverse"), this);
  forward_->setAccessibleName(tr("Forward"));
  reverse_->setAccessibleName(tr("Reverse"));
  auto* direction = new QButtonGroup(this);
  direction->addButton(forward_);
  direction->addButton(reverse_);
  connect(forward_, &QRadioButton::toggled, this, [this](bool on) {
    if (driving_) Q_EMIT given(commandOf(CommandKind::direction, on ? 1 : 0));
  });
  ways->addWidget(forward_);
  ways->addWidget(reverse_);
  ways->addStretch(1);
  const int at = grid->rowCount();
  grid->addWidget(new QLabel(tr("Direction"), this), at, 0);
  grid->addLayout(ways, at, 1, 1, 2);

  auto* last = new QHBoxLayout;
  power_ = new QCheckBox(tr("&Track power"), this);
  power_->setAccessibleName(tr("Track power"));
  power_->setToolTip(tr("Off: the engine stops, and its sound lasts as long as the set's reserve"));
  connect(power_, &QCheckBox::toggled, this, [this](bool on) {
    if (driving_) Q_EMIT given(commandOf(CommandKind::power, on ? 1 : 0));
  });
  QPushButton* stop = makeButton(this, QStringLiteral("stop"), tr("Emergency stop (Esc)"),
                                 tr("To rest at once, until the regulator is moved"));
  stop->setAccessibleName(tr("Emergency stop"));
  connect(stop, &QPushButton::clicked, this, &DriveControls::stopAtOnce);
  // The space bar works them and stops nothing.
  for (QWidget* own : {static_cast<QWidget*>(power_), static_cast<QWidget*>(forward_),
                       static_cast<QWidget*>(reverse_), static_cast<QWidget*>(stop)})
    own->setProperty("ownsSpace", true);
  last->addWidget(power_);
  last->addStretch(1);
  last->addWidget(stop);
  grid->addLayout(last, at + 1, 0, 1, 3);
}

void DriveControls::begin() {
  driving_ = false;
  regulator_->setValue(0);
  load_->setValue(0);
  gradient_->setValue(0);
  forward_->setChecked(true);
  power_->setChecked(true);
  driving_ = true;
}

void DriveControls::stopAtOnce() {
  if (!driving_) return;
  {
    // The stop shuts the regulator by itself; a command to shut it would undo the stop.
    const QSignalBlocker quiet(this);
    regulator_->setValue(0);
  }
  Q_EMIT given(commandOf(drive::CommandKind::emergency_stop));
}

}  // namespace fourbeat::ui
