// SPDX-License-Identifier: GPL-3.0-or-later
#include "ChuffTablePanel.h"

#include "EffortPanel.h"
#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"

#include "fourbeat/work/chuff_builder.h"

#include <QCheckBox>
#include <QComboBox>
#include <QFormLayout>
#include <QGroupBox>
#include <QHBoxLayout>
#include <QLabel>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

ChuffTablePanel::ChuffTablePanel(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      lead_(makeNumber(this, tr("Lead: how long before its beat a chuff begins"),
                       {0, 50, 1, 0.5, tr(" ms")})),
      gain_(makeNumber(this, tr("Gain of the chuffs"), {-60, 20, 1, 0.5, tr(" dB")})),
      priority_(makeNumber(this, tr("Priority of the chuffs"), {0, 100, 0, 5, {}})),
      importance_(makeNumber(this, tr("Importance of the chuffs"), {0.1, 10, 1, 0.5, {}})),
      ratio_(makeNumber(this, tr("Upper over lower speed of a row"), {1.05, 2, 2, 0.05, {}})),
      least_(makeNumber(this, tr("Revolutions a row has"), {1, 16, 0, 1, {}})),
      most_(makeNumber(this, tr("Revolutions where memory allows"), {1, 16, 0, 1, {}})),
      derive_(new QCheckBox(tr("Derive the rows that nothing was recorded for"), this)),
      condition_(new QComboBox(this)),
      effort_(new EffortPanel(workspace, this)) {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(0, Theme::gap, 0, 0);
  row->setSpacing(Theme::wide);
  row->addWidget(makeTable(), 1);
  row->addWidget(makePlan(), 1);
  row->addWidget(effort_, 1);
  connect(&workspace.document(), &Document::changed, this, &ChuffTablePanel::refresh);
  refresh();
}

QGroupBox* ChuffTablePanel::makeTable() {
  auto* group = new QGroupBox(tr("The whole table"), this);
  auto* form = new QFormLayout(group);
  form->setVerticalSpacing(Theme::tight);
  form->addRow(tr("&Lead"), lead_);
  form->addRow(tr("&Gain"), gain_);
  form->addRow(tr("P&riority"), priority_);
  form->addRow(tr("&Importance"), importance_);
  const auto ended = [this] { workspace_.document().endMerge(); };
  onNumber(
      lead_, [this](double value) { changeLead(value); }, ended);
  onNumber(
      gain_,
      [this](double value) {
        changeTable("gain", [value](model::ChuffTable& table) { table.gain_db = value; });
      },
      ended);
  onNumber(
      priority_,
      [this](double value) {
        changeTable("priority", [value](model::ChuffTable& table) {
          table.priority = static_cast<int>(std::lround(value));
        });
      },
      ended);
  onNumber(
      importance_,
      [this](double value) {
        changeTable("importance", [value](model::ChuffTable& table) { table.importance = value; });
      },
      ended);
  return group;
}

QGroupBox* ChuffTablePanel::makePlan() {
  const work::ChuffPlan usual;
  ratio_->setValue(usual.band_ratio);
  least_->setValue(usual.revolutions_least);
  most_->setValue(usual.revolutions_most);
  derive_->setChecked(usual.derive);
  for (const model::Condition condition : {model::Condition::normal, model::Condition::cocks_open,
                                           model::Condition::heavy_start, model::Condition::slip}) {
    condition_->addItem(word(condition), static_cast<int>(condition));
  }
  derive_->setAccessibleName(derive_->text());
  condition_->setAccessibleName(tr("Condition that the takes were recorded in"));
  condition_->setToolTip(
      tr("A build makes the rows of this condition anew and leaves the others alone"));
  auto* group = new QGroupBox(tr("The next build"), this);
  auto* form = new QFormLayout(group);
  form->setVerticalSpacing(Theme::tight);
  form->addRow(tr("&Speeds of a row, ratio"), ratio_);
  auto* turns = new QHBoxLayout;
  turns->setSpacing(Theme::gap);
  turns->addWidget(least_, 1);
  turns->addWidget(new QLabel(tr("up to"), group));
  turns->addWidget(most_, 1);
  // A form names no buddy for a row of several fields.
  auto* turns_label = new QLabel(tr("Revolutions a ro&w"), group);
  turns_label->setBuddy(least_);
  form->addRow(turns_label, turns);
  form->addRow(tr("C&ondition"), condition_);
  form->addRow(derive_);
  // The greater of the two leads.
  connect(least_, &QDoubleSpinBox::valueChanged, this,
          [this](double value) { most_->setValue(std::max(value, most_->value())); });
  connect(most_, &QDoubleSpinBox::valueChanged, this,
          [this](double value) { least_->setValue(std::min(value, least_->value())); });
  return group;
}

work::ChuffPlan ChuffTablePanel::plan() const {
  work::ChuffPlan plan;
  plan.band_ratio = ratio_->value();
  plan.revolutions_least = static_cast<int>(std::lround(least_->value()));
  plan.revolutions_most = static_cast<int>(std::lround(most_->value()));
  plan.derive = derive_->isChecked();
  plan.condition = static_cast<model::Condition>(condition_->currentData().toInt());
  return plan;
}

void ChuffTablePanel::changeTable(const char* key,
                                  const std::function<void(model::ChuffTable&)>& how) {
  model::ChuffTable table = workspace_.project().chuffs;
  how(table);
  if (table == workspace_.project().chuffs) return;
  if (!workspace_.perform(tr("Change chuff table"), {model::SetChuffTable{table}},
                          QStringLiteral("chuffs/%1").arg(QLatin1String(key)))) {
    refresh();
  }
}

void ChuffTablePanel::changeLead(double lead_ms) {
  const Result<model::ChuffTable> table = work::with_lead(workspace_.project(), lead_ms);
  if (!table) {
    workspace_.tell(table.error());
    refresh();
    return;
  }
  changeTable("lead", [&table](model::ChuffTable& changed) { changed = *table; });
}

void ChuffTablePanel::refresh() {
  const model::ChuffTable& table = workspace_.project().chuffs;
  showValue(lead_, table.lead_ms);
  showValue(gain_, table.gain_db);
  showValue(priority_, table.priority);
  showValue(importance_, table.importance);
}

}  // namespace fourbeat::ui
