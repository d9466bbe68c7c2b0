// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveGauges.h"

#include "Fields.h"
#include "PageParts.h"
#include "Wording.h"
#include "models/DriveEventModel.h"

#include <QGridLayout>
#include <QHBoxLayout>
#include <QLocale>
#include <QProgressBar>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr int speedParts = 10;     ///< of a km/h
constexpr int pressureParts = 10;  ///< of a bar
constexpr int fullGlass = 100;
constexpr int figureLetters = 14;

}  // namespace

QLabel* addDriveFigure(QGridLayout* grid, int row, QWidget* parent) {
  auto* shown = new QLabel(parent);
  shown->setFont(Theme::instance().figureFont());
  shown->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
  shown->setMinimumWidth(shown->fontMetrics().averageCharWidth() * figureLetters);
  grid->addWidget(shown, row, 2);
  return shown;
}

DriveGauges::DriveGauges(QWidget* parent)
    : QWidget(parent), state_(makeHeading(this, {})), clock_(makeLabel(this, {}, "muted")) {
  state_->setAccessibleName(tr("State and effort"));
  clock_->setAccessibleName(tr("Driven for"));
  clock_->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, 0, 0, 0);
  column->setSpacing(Theme::gap);
  auto* top = new QHBoxLayout;
  top->addWidget(state_, 1);
  top->addWidget(clock_);
  column->addLayout(top);
  auto* grid = new QGridLayout;
  grid->setHorizontalSpacing(Theme::wide);
  grid->setVerticalSpacing(Theme::gap);
  grid->setColumnStretch(1, 1);
  speed_ = addGauge(grid, tr("Speed"));
  voices_ = addGauge(grid, tr("Voices"));
  pressure_ = addGauge(grid, tr("Pressure"));
  water_ = addGauge(grid, tr("Water"));
  water_.bar->setRange(0, fullGlass);
  column->addLayout(grid);
}

void DriveGauges::Gauge::show(double value, const QString& line) const {
  bar->setValue(std::clamp(static_cast<int>(std::lround(value)), 0, bar->maximum()));
  bar->setAccessibleDescription(line);
  figure->setText(line);
}

void DriveGauges::Gauge::setVisible(bool visible) const {
  name->setVisible(visible);
  bar->setVisible(visible);
  figure->setVisible(visible);
}

DriveGauges::Gauge DriveGauges::addGauge(QGridLayout* grid, const QString& name) {
  const int row = grid->rowCount();
  auto* words = new QLabel(name, this);
  auto* bar = new QProgressBar(this);
  bar->setAccessibleName(name);
  bar->setTextVisible(false);
  grid->addWidget(words, row, 0);
  grid->addWidget(bar, row, 1);
  return {words, bar, addDriveFigure(grid, row, this)};
}

void DriveGauges::begin(const model::Project& project, int voices) {
  sounding_.clear();
  refused_ = 0;
  ownStates_.clear();
  slipping_ = false;
  voice_limit_ = voices;
  stateWord_ = driveWord("standing");
  effortWord_.clear();
  speed_.bar->setRange(
      0, std::max(1, static_cast<int>(std::ceil(project.engine.top_speed_kmh)) * speedParts));
  voices_.bar->setRange(0, std::max(1, voices));
  const bool duties = project.duties.has_value();
  pressure_.setVisible(duties);
  water_.setVisible(duties);
  if (duties) {
    pressure_.bar->setRange(
        0, std::max(1, static_cast<int>(std::ceil(project.duties->lift_bar * pressureParts))));
    drive::Event start;
    start.kind = drive::EventKind::gauges;
    start.pressure_bar = project.duties->start_bar;
    start.water = project.duties->start_water;
    take(start);
  }
  showSpeed(0.0);
  showState();
  showVoices();
  setClock(0.0);
}

void DriveGauges::setClock(double seconds) {
  clock_->setText(timeText(seconds));
}

void DriveGauges::showSpeed(double kmh) {
  speed_.show(kmh * speedParts, speedText(kmh));
}

void DriveGauges::showState() {
  QStringList words{stateWord_};
  if (!effortWord_.isEmpty()) words << effortWord_.toLower();
  words += ownStates_;
  if (slipping_) words << tr("the wheels slip");
  state_->setText(words.join(QStringLiteral(" · ")));
}

void DriveGauges::showVoices() {
  const int sounding = static_cast<int>(sounding_.size());
  QString line = tr("%1 of %2").arg(sounding).arg(voice_limit_);
  if (refused_ > 0) line = tr("%1, %2 yielded").arg(line).arg(refused_);
  voices_.show(sounding, line);
  showOver(voices_.bar, sounding >= voice_limit_);
}

void DriveGauges::takeVoice(const drive::Event& event) {
  if (event.kind == drive::EventKind::voice_start) {
    sounding_.insert(event.number);
  } else {
    if (event.number >= 0) sounding_.remove(event.number);
    if (event.reason == drive::reason_name(drive::Reason::no_voice) ||
        event.reason == drive::reason_name(drive::Reason::stolen)) {
      ++refused_;
    }
  }
  showVoices();
}

void DriveGauges::take(const drive::Event& event) {
  switch (event.kind) {
    case drive::EventKind::speed:
    case drive::EventKind::beat:
      showSpeed(event.speed_kmh);
      break;
    case drive::EventKind::state:
      stateWord_ = driveWord(event.text);
      showState();
      break;
    case drive::EventKind::own_state:
      ownStates_.removeAll(text(event.text));
      if (event.value != 0) ownStates_ << text(event.text);
      showState();
      break;
    case drive::EventKind::effort:
      effortWord_ = word(event.effort);
      showState();
      break;
    case drive::EventKind::slip:
      slipping_ = event.value != 0;
      showState();
      break;
    case drive::EventKind::voice_start:
    case drive::EventKind::voice_end:
      takeVoice(event);
      break;
    case drive::EventKind::gauges:
      pressure_.show(event.pressure_bar * pressureParts,
                     tr("%1 bar").arg(QLocale().toString(event.pressure_bar, 'f', 1)));
      water_.show(event.water * fullGlass,
                  tr("%1 %").arg(QLocale().toString(event.water * fullGlass, 'f', 0)));
      break;
    case drive::EventKind::key:
    case drive::EventKind::cv:
    case drive::EventKind::duty:
    case drive::EventKind::hold:
    case drive::EventKind::power:
      break;
  }
}

}  // namespace fourbeat::ui
