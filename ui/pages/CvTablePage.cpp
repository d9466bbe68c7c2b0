// SPDX-License-Identifier: GPL-3.0-or-later
#include "CvTablePage.h"

#include "PageParts.h"
#include "Sections.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/CvTableModel.h"
#include "views/CellDelegate.h"
#include "views/SpeedCurve.h"

#include "fourbeat/drive/motion.h"
#include "fourbeat/model/cv_values.h"
#include "fourbeat/model/run_card.h"

#include <QCheckBox>
#include <QFormLayout>
#include <QGroupBox>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QItemSelectionModel>
#include <QLocale>
#include <QScrollArea>
#include <QSpinBox>
#include <QSplitter>
#include <QStackedWidget>
#include <QTabWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <array>

namespace fourbeat::ui {

namespace {

constexpr int accelerationCv = 3;
constexpr int decelerationCv = 4;
constexpr int accelerationAdjustmentCv = 23;
constexpr int decelerationAdjustmentCv = 24;
constexpr int highestCv = 1024;
constexpr int highestValue = 255;
constexpr int stepMode = 128;

void setQuietly(QSpinBox& box, int value) {
  const QSignalBlocker quiet(box);
  box.setValue(value);
}

}  // namespace

CvTablePage::CvTablePage(Workspace& workspace, QWidget* parent)
    : Page(workspace, parent), model_(new CvTableModel(workspace, this)) {
  tabs_ = makePageTabs(this);
  tabs_->addTab(makeCvs(), tr("CVs"));
  options_ = makeOptions(workspace, tabs_);
  tabs_->addTab(options_, tr("Options"));
  effects_ = makeCvEffects(workspace, tabs_);
  tabs_->addTab(effects_, tr("What CVs change"));
  connect(tabs_, &QTabWidget::currentChanged, this, &CvTablePage::refreshNeed);
  connect(&workspace.document(), &Document::changed, this, &CvTablePage::refresh);
  connect(table_->selectionModel(), &QItemSelectionModel::currentRowChanged, this,
          [this] { remove_->setEnabled(current() != nullptr); });
  if (model_->rowCount() > 0) table_->selectRow(0);
  refresh();
  offerFreeCv();
}

QWidget* CvTablePage::makeCvs() {
  auto* cvs = new QWidget(tabs_);
  auto* row = new QHBoxLayout(cvs);
  row->setContentsMargins(0, Theme::gap, 0, 0);
  auto* split = new QSplitter(Qt::Horizontal, cvs);
  row->addWidget(split);
  split->addWidget(makeList());
  auto* scroll = new QScrollArea(split);
  scroll->setAccessibleName(tr("Settings by meaning"));
  scroll->setWidgetResizable(true);
  scroll->setFrameShape(QFrame::NoFrame);
  scroll->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);
  auto* helpers = new QWidget(scroll);
  auto* column = new QVBoxLayout(helpers);
  column->setContentsMargins(Theme::gap, 0, Theme::gap, 0);
  column->setSpacing(Theme::margin);
  for (QWidget* part : {makeMomentum(), makeCurve(), makeSettings(), makeAddress()})
    column->addWidget(part);
  column->addStretch();
  scroll->setWidget(helpers);
  split->addWidget(scroll);
  split->setStretchFactor(0, 3);
  split->setStretchFactor(1, 2);
  split->setChildrenCollapsible(false);
  const int letter = fontMetrics().averageCharWidth();
  split->setSizes({letter * 80, letter * 66});
  return cvs;
}

QWidget* CvTablePage::makeList() {
  auto* panel = new QWidget(this);
  auto* column = new QVBoxLayout(panel);
  column->setContentsMargins(0, 0, Theme::gap, 0);
  column->setSpacing(Theme::gap);
  stack_ = new QStackedWidget(panel);
  table_ = new QTableView(stack_);
  table_->setModel(model_);
  table_->setItemDelegate(new CellDelegate(table_));
  setUpTable(table_, tr("CVs of the set"));
  const int letter = table_->fontMetrics().averageCharWidth();
  const std::array widths{9, 25, 9, 32, 13, 26};
  for (int i = 0; i < static_cast<int>(widths.size()); ++i)
    table_->setColumnWidth(i, widths.at(static_cast<std::size_t>(i)) * letter);
  QLabel* empty = makeLabel(stack_,
                            tr("No CV is set: the decoder keeps its own values. Most sets ship "
                               "momentum in CV3 and CV4."),
                            "muted");
  empty->setAlignment(Qt::AlignCenter);
  stack_->addWidget(table_);
  stack_->addWidget(empty);

  auto* bar = new QHBoxLayout;
  auto* label = new QLabel(tr("&New CV"), panel);
  newNumber_ = new QSpinBox(panel);
  newNumber_->setRange(1, highestCv);
  newNumber_->setAccessibleName(tr("Number of the new CV"));
  label->setBuddy(newNumber_);
  newName_ = makeLabel(panel, {}, "muted");
  connect(newNumber_, &QSpinBox::valueChanged, this, &CvTablePage::nameNewCv);
  remove_ = makeButton(
      this, QStringLiteral("remove"), tr("&Remove"), tr("Remove this CV from the set"),
      [this] { removeCv(); }, QKeySequence(Qt::Key_Delete), table_);
  bar->addWidget(label);
  bar->addWidget(newNumber_);
  bar->addWidget(makeButton(
      this, QStringLiteral("add"), tr("&Add"), tr("Add this CV to the set"), [this] { addCv(); },
      QKeySequence(Qt::Key_Insert), table_));
  bar->addWidget(newName_, 1);
  bar->addWidget(remove_);
  column->addLayout(bar);
  column->addWidget(stack_, 1);
  return panel;
}

QWidget* CvTablePage::makeMomentum() {
  auto* box = new QGroupBox(tr("Momentum"), this);
  auto* form = new QFormLayout(box);
  form->setVerticalSpacing(Theme::gap);
  const auto add = [&](int number, int adjustment, const QString& label, const QString& name) {
    Momentum momentum{number, adjustment, new QSpinBox(box), makeLabel(box, {}, "muted")};
    momentum.value->setRange(0, highestValue);
    momentum.value->setAccessibleName(name);
    connect(momentum.value, &QSpinBox::valueChanged, this, [this, number](int value) {
      (void)workspace().perform(tr("Set CV%1").arg(number), {model::SetCv{number, value}},
                                QStringLiteral("cv/%1").arg(number));
    });
    connect(momentum.value, &QSpinBox::editingFinished, this,
            [this] { workspace().document().endMerge(); });
    auto* row = new QHBoxLayout;
    row->setSpacing(Theme::wide);
    row->addWidget(momentum.value);
    row->addWidget(momentum.meaning, 1);
    form->addRow(label, row);
    if (auto* buddy = qobject_cast<QLabel*>(form->labelForField(row))) {
      buddy->setBuddy(momentum.value);
    }
    momenta_.push_back(momentum);
  };
  add(accelerationCv, accelerationAdjustmentCv, tr("&Speeding up (CV3)"),
      tr("CV3, momentum when speeding up"));
  add(decelerationCv, decelerationAdjustmentCv, tr("S&lowing down (CV4)"),
      tr("CV4, momentum when slowing down"));
  return box;
}

QWidget* CvTablePage::makeSettings() {
  auto* box = new QGroupBox(tr("Basic settings (CV29)"), this);
  auto* column = new QVBoxLayout(box);
  column->setSpacing(Theme::tight);
  const auto add = [&](int bit, const QString& label, const QString& toolTip) {
    auto* check = new QCheckBox(label, box);
    check->setToolTip(tr("%1 (bit worth %2)").arg(toolTip).arg(bit));
    check->setAccessibleName(label);
    connect(check, &QCheckBox::clicked, this, [this, bit, label](bool on) {
      const int before =
          model::cv_value(workspace().project(), model::basic_settings_cv).value_or(0);
      (void)workspace().perform(
          on ? tr("Switch on: %1").arg(label) : tr("Switch off: %1").arg(label),
          {model::SetCv{model::basic_settings_cv, on ? before | bit : before & ~bit}});
    });
    column->addWidget(check);
    settings_.push_back({bit, check});
  };
  add(model::cv29::reversed_direction, tr("Direction reversed"),
      tr("Forward and reverse change places, the lamps too"));
  add(model::cv29::steps_28_or_128, tr("28 or 128 speed steps"), tr("Off: 14 steps"));
  add(model::cv29::other_power, tr("Runs without digital signal too"),
      tr("Other power sources are allowed; CV12 says which"));
  add(model::cv29::bidirectional, tr("Answers the command station"),
      tr("Bi-directional communication"));
  add(model::cv29::speed_table, tr("Use the speed table (CV67 to 94)"),
      tr("Off: the curve of CV2, CV5 and CV6"));
  add(model::cv29::long_address_used, tr("Use the long address (CV17, CV18)"),
      tr("Off: the primary address of CV1"));
  settingsNote_ = makeLabel(box, {}, "muted");
  column->addWidget(settingsNote_);
  return box;
}

QWidget* CvTablePage::makeAddress() {
  auto* box = new QGroupBox(tr("Long address (CV17, CV18)"), this);
  auto* row = new QHBoxLayout(box);
  address_ = new QSpinBox(box);
  address_->setRange(0, model::greatest_long_address);
  address_->setSpecialValueText(tr("none"));
  address_->setAccessibleName(tr("Long address"));
  connect(address_, &QSpinBox::valueChanged, this, &CvTablePage::setAddress);
  connect(address_, &QSpinBox::editingFinished, this,
          [this] { workspace().document().endMerge(); });
  addressNote_ = makeLabel(box, {}, "muted");
  row->addWidget(address_);
  row->addWidget(addressNote_, 1);
  return box;
}

QWidget* CvTablePage::makeCurve() {
  auto* box = new QGroupBox(tr("Speed table (CV67 to CV94)"), this);
  auto* column = new QVBoxLayout(box);
  column->setSpacing(Theme::gap);
  curve_ = new SpeedCurve(box);
  connect(curve_, &SpeedCurve::levelMoved, this, &CvTablePage::moveLevel);
  curveNote_ = makeLabel(box, {}, "muted");
  auto* row = new QHBoxLayout;
  row->addWidget(curveNote_, 1);
  row->addWidget(
      makeButton(this, {}, tr("S&traight line"),
                 tr("Set all 28 steps on a straight line to full drive"), [this] { straighten(); }),
      0, Qt::AlignTop);
  column->addWidget(curve_, 1);
  column->addLayout(row);
  return box;
}

const model::Cv* CvTablePage::current() const {
  return model_->rowAt(table_->currentIndex());
}

void CvTablePage::refresh() {
  const model::Project& project = workspace().project();
  stack_->setCurrentIndex(model_->rowCount() > 0 ? 0 : 1);
  remove_->setEnabled(current() != nullptr);
  for (const Momentum& momentum : momenta_) {
    const std::optional<int> set = model::cv_value(project, momentum.number);
    const int value = set.value_or(drive::default_momentum_rate);
    setQuietly(*momentum.value, value);
    const int adjustment = model::cv_value(project, momentum.adjustment).value_or(0);
    const double seconds =
        drive::seconds_per_step(drive::momentum_rate(value, adjustment), stepMode) *
        model::last_step(stepMode);
    QString line = momentum.number == accelerationCv ? tr("%1 s from rest to full speed")
                                                     : tr("%1 s from full speed to rest");
    line = line.arg(QLocale().toString(seconds, 'f', 1));
    if (adjustment != 0) line += tr(", CV%1 counted in").arg(momentum.adjustment);
    if (!set) line += tr("; not in the table yet, %1 is assumed").arg(value);
    momentum.meaning->setText(line);
    momentum.value->setAccessibleDescription(line);
  }
  const std::optional<int> basic = model::cv_value(project, model::basic_settings_cv);
  for (const Setting& setting : settings_)
    setting.box->setChecked((basic.value_or(0) & setting.bit) != 0);
  settingsNote_->setText(basic ? tr("CV29 = %1").arg(*basic)
                               : tr("CV29 is not in the table: the decoder keeps its own."));
  const std::optional<int> high = model::cv_value(project, model::long_address_high_cv);
  const std::optional<int> low = model::cv_value(project, model::long_address_low_cv);
  const std::optional<int> address = model::long_address(high.value_or(-1), low.value_or(-1));
  setQuietly(*address_, address.value_or(0));
  if (address) {
    const bool used = (basic.value_or(0) & model::cv29::long_address_used) != 0;
    addressNote_->setText(tr("CV17 = %1, CV18 = %2%3")
                              .arg(*high)
                              .arg(*low)
                              .arg(used ? QString() : tr("; CV29 does not switch it on")));
  } else {
    addressNote_->setText(high || low ? tr("CV17 and CV18 do not make an address together.")
                                      : tr("Not in the table."));
  }
  const model::SpeedTable stored = model::speed_table(project);
  SpeedCurve::Levels levels{};
  bool any = false;
  for (int step = 0; step < SpeedCurve::steps; ++step) {
    const std::optional<int>& level = stored.at(static_cast<std::size_t>(step));
    any = any || level;
    levels.at(static_cast<std::size_t>(step)) = level.value_or(model::linear_drive(step + 1));
  }
  curve_->setLevels(levels, any);
  const bool tableUsed = (basic.value_or(0) & model::cv29::speed_table) != 0;
  curveNote_->setText(!any ? tr("Not in the table: move a point to put all 28 steps in.")
                      : tableUsed
                          ? tr("CV29 switches it on.")
                          : tr("CV29 does not switch it on: the decoder uses CV2, 5 and 6."));
  refreshNeed();
}

void CvTablePage::refreshNeed() {
  if (const auto* section = dynamic_cast<const Section*>(tabs_->currentWidget()))
    return setNeed(section->need());
  const model::Project& project = workspace().project();
  if (!model::cv_value(project, accelerationCv) || !model::cv_value(project, decelerationCv)) {
    setNeed(tr("Say how long the engine takes to speed up and to slow down: CV3 and CV4."));
  } else {
    setNeed(tr("The values the set ships with; the notes list them for the buyer."));
  }
}

void CvTablePage::offerFreeCv() {
  int number = newNumber_->value();
  const auto taken = [&] { return model::cv_value(workspace().project(), number).has_value(); };
  while (number < highestCv && taken())
    ++number;
  newNumber_->setValue(number);
  nameNewCv();
}

void CvTablePage::nameNewCv() {
  const QString name = model_->standardName(newNumber_->value());
  newName_->setText(name.isEmpty() ? tr("the maker's own use") : name);
  newNumber_->setAccessibleDescription(newName_->text());
}

void CvTablePage::addCv() {
  model::Cv cv;
  cv.number = newNumber_->value();
  cv.name = utf8(model_->standardName(cv.number));
  if (const store::CvDefinition* definition = model_->definition(cv.number))
    cv.value = definition->min;
  for (const model::Cv& each : workspace().project().cvs) {
    if (each.number == cv.number) return select(each.id);
  }
  if (workspace().perform(tr("Add CV%1").arg(cv.number),
                          {model::Add<model::Cv>{cv, std::nullopt}})) {
    select(model::last_drawn<model::Cv>(workspace().project()));
    offerFreeCv();
    table_->setFocus();
  }
}

void CvTablePage::removeCv() {
  if (current() == nullptr) return;
  const model::Cv cv = *current();
  (void)workspace().perform(tr("Remove CV%1").arg(cv.number), {model::Remove<model::Cv>{cv.id}});
}

void CvTablePage::select(Id<model::Cv> cv) {
  const int row = model_->rowOf(cv);
  if (row < 0) return;
  const QModelIndex index = model_->index(row, CvTableModel::valueColumn);
  table_->setCurrentIndex(index);
  table_->scrollTo(index);
}

void CvTablePage::setAddress(int address) {
  const auto cvs = model::long_address_cvs(address);
  if (!cvs) return;
  (void)workspace().perform(tr("Set long address %1").arg(address),
                            {model::SetCv{model::long_address_high_cv, cvs->first},
                             model::SetCv{model::long_address_low_cv, cvs->second}},
                            QStringLiteral("cv/long address"));
}

void CvTablePage::moveLevel(int step, int level, bool finished) {
  const model::SpeedTable stored = model::speed_table(workspace().project());
  std::vector<model::Edit> edits;
  for (int each = 0; each < SpeedCurve::steps; ++each) {
    const std::optional<int>& now = stored.at(static_cast<std::size_t>(each));
    const int wanted = each == step ? level : now.value_or(model::linear_drive(each + 1));
    if (now != wanted) edits.emplace_back(model::SetCv{model::speed_table_first_cv + each, wanted});
  }
  if (!edits.empty()) {
    (void)workspace().perform(tr("Change the speed table"), edits,
                              QStringLiteral("cv/curve/%1").arg(step));
  }
  if (finished) workspace().document().endMerge();
}

void CvTablePage::straighten() {
  std::vector<model::Edit> edits;
  for (int step = 1; step <= SpeedCurve::steps; ++step) {
    edits.emplace_back(
        model::SetCv{model::speed_table_first_cv + step - 1, model::linear_drive(step)});
  }
  (void)workspace().perform(tr("Straighten the speed table"), edits);
}

bool CvTablePage::shows(const QString& pointer) const {
  const QString list = pointer.section(QLatin1Char('/'), 1, 1);
  return list == QLatin1String("cvs") || list == QLatin1String("options");
}

void CvTablePage::reveal(const QString& pointer) {
  const QString inside = pointer.section(QLatin1Char('/'), 2);
  Section* section = nullptr;
  if (pointer.startsWith(QLatin1String("/options"))) {
    section = options_;
  } else if (inside.section(QLatin1Char('/'), 1, 1) == QLatin1String("effect")) {
    section = effects_;
  }
  if (section != nullptr) {
    tabs_->setCurrentWidget(section);
    return section->reveal(inside);
  }
  tabs_->setCurrentIndex(0);
  const auto place = static_cast<std::size_t>(inside.section(QLatin1Char('/'), 0, 0).toUInt());
  if (place >= workspace().project().cvs.size()) return;
  select(workspace().project().cvs[place].id);
  table_->setFocus();
}

}  // namespace fourbeat::ui
