// SPDX-License-Identifier: GPL-3.0-or-later
#include "EffortPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Workspace.h"

#include "fourbeat/work/effort.h"

#include <QCheckBox>
#include <QGridLayout>
#include <QLabel>
#include <QPushButton>
#include <QSignalBlocker>

namespace fourbeat::ui {

EffortPanel::EffortPanel(Workspace& workspace, QWidget* parent)
    : QGroupBox(tr("Effort"), parent),
      workspace_(workspace),
      own_(new QCheckBox(tr("B&y figures of this engine"), this)),
      slowing_(makeNumber(this, tr("Acceleration below which the engine drifts"),
                          {-5, 5, 2, 0.01, tr(" m/s²")})),
      gaining_(makeNumber(this, tr("Acceleration from which it works hard"),
                          {-5, 5, 2, 0.01, tr(" m/s²")})),
      take_(makeButton(this, {}, tr("&Use what was heard"),
                       tr("Keep the figures that the last build found in its takes"))) {
  own_->setAccessibleName(tr("Judge effort by figures of this engine"));
  own_->setToolTip(
      tr("Without them each build finds its own figures in its takes, so that more "
         "takes can change what counts as hard"));
  auto* grid = new QGridLayout(this);
  grid->setVerticalSpacing(Theme::tight);
  grid->addWidget(own_, 0, 0);
  grid->addWidget(new QLabel(tr("Drifting below"), this), 0, 1);
  grid->addWidget(new QLabel(tr("Hard from"), this), 0, 2);
  measures_[0].low = &model::EffortCalibration::drifting_below_db;
  measures_[0].high = &model::EffortCalibration::hard_from_db;
  measures_[0].drifting_below = makeNumber(
      this, tr("Level over background below which the engine drifts"), {0, 120, 1, 0.5, tr(" dB")});
  measures_[0].hard_from = makeNumber(this, tr("Level over background from which it works hard"),
                                      {0, 120, 1, 0.5, tr(" dB")});
  makeMeasure(measures_[0], tr("Level over background"), tr("Level over &background"), 1);
  measures_[1].low = &model::EffortCalibration::drifting_below_share;
  measures_[1].high = &model::EffortCalibration::hard_from_share;
  measures_[1].unit = 100.0;
  measures_[1].drifting_below = makeNumber(
      this, tr("Length of a beat below which the engine drifts"), {0, 100, 0, 1, tr(" %")});
  measures_[1].hard_from = makeNumber(this, tr("Length of a beat from which the engine works hard"),
                                      {0, 100, 0, 1, tr(" %")});
  makeMeasure(measures_[1], tr("Length, of the interval"), tr("Le&ngth, of the interval"), 2);
  auto* acceleration = new QLabel(tr("&Acceleration"), this);
  acceleration->setBuddy(slowing_);
  grid->addWidget(acceleration, 3, 0);
  grid->addWidget(slowing_, 3, 1);
  grid->addWidget(gaining_, 3, 2);
  grid->addWidget(take_, 4, 1, 1, 2);
  grid->setRowStretch(5, 1);

  const auto ended = [this] { workspace_.document().endMerge(); };
  onNumber(
      slowing_,
      [this](double value) {
        change([value](model::EffortCalibration& c) {
          c.drifting_below_m_s2 = value;
          c.hard_from_m_s2 = std::max(c.hard_from_m_s2, value + 0.01);
        });
      },
      ended);
  onNumber(
      gaining_,
      [this](double value) {
        change([value](model::EffortCalibration& c) {
          c.hard_from_m_s2 = value;
          c.drifting_below_m_s2 = std::min(c.drifting_below_m_s2, value - 0.01);
        });
      },
      ended);
  connect(own_, &QCheckBox::clicked, this,
          [this](bool on) { set(on ? std::optional(shown()) : std::nullopt); });
  connect(take_, &QPushButton::clicked, this, [this] { set(heard_); });
  connect(&workspace.document(), &Document::changed, this, &EffortPanel::refresh);
  refresh();
}

void EffortPanel::makeMeasure(Measure& measure, const QString& name, const QString& mnemonic,
                              int row) {
  measure.counts = new QCheckBox(mnemonic, this);
  measure.counts->setAccessibleName(tr("%1 counts").arg(name));
  auto* grid = static_cast<QGridLayout*>(layout());
  grid->addWidget(measure.counts, row, 0);
  grid->addWidget(measure.drifting_below, row, 1);
  grid->addWidget(measure.hard_from, row, 2);
  const Measure fixed = measure;
  const auto ended = [this] { workspace_.document().endMerge(); };
  const double least = 1.0 / fixed.unit;  // of the fields, between the two figures
  onNumber(
      measure.drifting_below,
      [this, fixed, least](double value) {
        change([&](model::EffortCalibration& c) {
          c.*fixed.low = value / fixed.unit;
          c.*fixed.high = std::max((c.*fixed.high).value_or(0.0), value / fixed.unit + least);
        });
      },
      ended);
  onNumber(
      measure.hard_from,
      [this, fixed, least](double value) {
        change([&](model::EffortCalibration& c) {
          c.*fixed.high = value / fixed.unit;
          c.*fixed.low = std::min((c.*fixed.low).value_or(0.0), value / fixed.unit - least);
        });
      },
      ended);
  connect(measure.counts, &QCheckBox::clicked, this, [this, fixed](bool on) {
    const bool known = heard_ && ((*heard_).*fixed.low).has_value();
    const model::EffortCalibration from = known ? *heard_ : work::starting_calibration();
    change([&](model::EffortCalibration& c) {
      c.*fixed.low = on ? from.*fixed.low : std::nullopt;
      c.*fixed.high = on ? from.*fixed.high : std::nullopt;
    });
    workspace_.document().endMerge();
  });
}

model::EffortCalibration EffortPanel::shown() const {
  const std::optional<model::EffortCalibration>& own = workspace_.project().engine.effort;
  return own ? *own : heard_.value_or(model::EffortCalibration{});
}

void EffortPanel::set(const std::optional<model::EffortCalibration>& effort) {
  model::Engine engine = workspace_.project().engine;
  engine.effort = effort;
  if (engine != workspace_.project().engine) {
    workspace_.perform(tr("Change effort figures"), {model::SetEngine{engine}},
                       QStringLiteral("engine/effort"));
    workspace_.document().endMerge();
  }
  refresh();
}

void EffortPanel::change(const std::function<void(model::EffortCalibration&)>& how) {
  model::Engine engine = workspace_.project().engine;
  model::EffortCalibration effort = shown();
  how(effort);
  engine.effort = effort;
  if (engine == workspace_.project().engine) return;
  if (!workspace_.perform(tr("Change effort figures"), {model::SetEngine{engine}},
                          QStringLiteral("engine/effort"))) {
    refresh();
  }
}

void EffortPanel::setHeard(const model::EffortCalibration& heard) {
  heard_ = heard;
  refresh();
}

void EffortPanel::refresh() {
  const std::optional<model::EffortCalibration>& own = workspace_.project().engine.effort;
  const model::EffortCalibration figures = shown();
  const auto check = [](QCheckBox* box, bool on) {
    const QSignalBlocker quiet(box);
    box->setChecked(on);
  };
  check(own_, own.has_value());
  for (const Measure& measure : measures_) {
    const bool counts = (figures.*measure.low).has_value();
    check(measure.counts, counts);
    measure.counts->setEnabled(own.has_value());
    measure.drifting_below->setEnabled(own.has_value() && counts);
    measure.hard_from->setEnabled(own.has_value() && counts);
    showValue(measure.drifting_below, measure.unit * (figures.*measure.low).value_or(0.0));
    showValue(measure.hard_from, measure.unit * (figures.*measure.high).value_or(0.0));
  }
  slowing_->setEnabled(own.has_value());
  gaining_->setEnabled(own.has_value());
  showValue(slowing_, figures.drifting_below_m_s2);
  showValue(gaining_, figures.hard_from_m_s2);
  take_->setEnabled(heard_.has_value() && own != heard_);
}

}  // namespace fourbeat::ui
