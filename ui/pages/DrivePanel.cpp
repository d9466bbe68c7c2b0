// SPDX-License-Identifier: GPL-3.0-or-later
#include "DrivePanel.h"

#include "Fields.h"
#include "PageParts.h"
#include "Wording.h"
#include "models/DriveEventModel.h"
#include "sound/LiveDrive.h"

#include <QAbstractItemView>
#include <QApplication>
#include <QButtonGroup>
#include <QComboBox>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QKeyEvent>
#include <QLocale>
#include <QMouseEvent>
#include <QPlainTextEdit>
#include <QProgressBar>
#include <QRadioButton>
#include <QSlider>
#include <QTableView>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr int speedParts = 10;     ///< of a km/h
constexpr int pressureParts = 10;  ///< of a bar
constexpr int percents = 100;
constexpr int gradientParts = 10;  ///< of a percent
constexpr int steepest_percent = 5;
constexpr int pageStep = 10;
constexpr int figureLetters = 14;
/// The Qt::Key that stands for the pointer in held_.
constexpr int pointerKey = -1;

drive::Command commandOf(drive::CommandKind kind, int value = 0, double amount = 0.0) {
  drive::Command command;
  command.kind = kind;
  command.value = value;
  command.amount = amount;
  return command;
}

/// The list of the set's keys: a row is pressed by the pointer or the space bar, and let go of.
class KeyList : public QTableView {
 public:
  KeyList(QWidget* parent, std::function<void(int row, int key, bool down)> operate)
      : QTableView(parent), operate_(std::move(operate)) {}

 protected:
  void mousePressEvent(QMouseEvent* event) override {
    QTableView::mousePressEvent(event);
    const QModelIndex at = indexAt(event->pos());
    if (event->button() == Qt::LeftButton && at.isValid()) operate_(at.row(), pointerKey, true);
  }
  void mouseDoubleClickEvent(QMouseEvent* event) override { mousePressEvent(event); }
  void mouseReleaseEvent(QMouseEvent* event) override {
    QTableView::mouseReleaseEvent(event);
    if (event->button() == Qt::LeftButton) operate_(-1, pointerKey, false);
  }
  void keyPressEvent(QKeyEvent* event) override {
    if (event->key() != Qt::Key_Space) return QTableView::keyPressEvent(event);
    if (!event->isAutoRepeat() && currentIndex().isValid())
      operate_(currentIndex().row(), Qt::Key_Space, true);
  }
  void keyReleaseEvent(QKeyEvent* event) override {
    if (event->key() != Qt::Key_Space) return QTableView::keyReleaseEvent(event);
    if (!event->isAutoRepeat()) operate_(-1, Qt::Key_Space, false);
  }

 private:
  std::function<void(int row, int key, bool down)> operate_;
};

}  // namespace

DrivePanel::DrivePanel(QWidget* parent)
    : QWidget(parent),
      keys_(new DriveKeyModel(this)),
      state_(makeHeading(this, {})),
      clock_(makeLabel(this, {}, "muted")) {
  setAccessibleName(tr("The driver's place"));
  state_->setAccessibleName(tr("State and effort"));
  clock_->setAccessibleName(tr("Driven for"));
  clock_->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, 0, Theme::gap, 0);
  column->setSpacing(Theme::wide);
  auto* top = new QHBoxLayout;
  top->addWidget(state_, 1);
  top->addWidget(clock_);
  column->addLayout(top);
  auto* grid = new QGridLayout;
  grid->setHorizontalSpacing(Theme::wide);
  grid->setVerticalSpacing(Theme::gap);
  grid->setColumnStretch(1, 1);
  makeGauges(grid);
  makeControls(grid);
  column->addLayout(grid);
  list_ = makeKeys();
  column->addWidget(list_, 1);
}

void DrivePanel::Gauge::show(double value, const QString& line) const {
  bar->setValue(std::clamp(static_cast<int>(std::lround(value)), 0, bar->maximum()));
  bar->setAccessibleDescription(line);
  figure->setText(line);
}

void DrivePanel::Gauge::setVisible(bool visible) const {
  name->setVisible(visible);
  bar->setVisible(visible);
  figure->setVisible(visible);
}

QLabel* DrivePanel::addFigure(QGridLayout* grid, int row) {
  auto* shown = new QLabel(this);
  shown->setFont(Theme::instance().figureFont());
  shown->setAlignment(Qt::AlignRight | Qt::AlignVCenter);
  shown->setMinimumWidth(shown->fontMetrics().averageCharWidth() * figureLetters);
  grid->addWidget(shown, row, 2);
  return shown;
}

DrivePanel::Gauge DrivePanel::addGauge(QGridLayout* grid, const QString& name) {
  const int row = grid->rowCount();
  auto* words = new QLabel(name, this);
  auto* bar = new QProgressBar(this);
  bar->setAccessibleName(name);
  bar->setTextVisible(false);
  grid->addWidget(words, row, 0);
  grid->addWidget(bar, row, 1);
  return {words, bar, addFigure(grid, row)};
}

void DrivePanel::makeGauges(QGridLayout* grid) {
  speed_ = addGauge(grid, tr("Speed"));
  voices_ = addGauge(grid, tr("Voices"));
  pressure_ = addGauge(grid, tr("Pressure"));
  water_ = addGauge(grid, tr("Water"));
  water_.bar->setRange(0, percents);
}

QSlider* DrivePanel::addSlider(QGridLayout* grid, const QString& name, int low, int high,
                               const std::function<QString(int)>& figure,
                               const std::function<void(int)>& moved) {
  const int row = grid->rowCount();
  auto* words = new QLabel(name, this);
  auto* slider = new QSlider(Qt::Horizontal, this);
  slider->setAccessibleName(words->text().remove(QLatin1Char('&')));
  slider->setRange(low, high);
  slider->setPageStep(pageStep);
  words->setBuddy(slider);
  QLabel* shown = addFigure(grid, row);
  shown->setText(figure(slider->value()));
  connect(slider, &QSlider::valueChanged, this, [this, shown, figure, moved](int value) {
    shown->setText(figure(value));
    if (driving_) moved(value);
  });
  grid->addWidget(words, row, 0);
  grid->addWidget(slider, row, 1);
  return slider;
}

void DrivePanel::makeControls(QGridLayout* grid) {
  using drive::CommandKind;
  const int last = model::last_step(LiveDrive::speed_steps);
  regulator_ = addSlider(
      grid, tr("Reg&ulator"), 0, last,
      [last](int value) { return value == 0 ? tr("shut") : tr("%1 of %2").arg(value).arg(last); },
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

  auto* row = new QHBoxLayout;
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
  row->addWidget(forward_);
  row->addWidget(reverse_);
  row->addStretch(1);
  QPushButton* stop = makeButton(this, QStringLiteral("stop"), tr("Emergency stop (Esc)"),
                                 tr("To rest at once, until the regulator is moved"));
  stop->setAccessibleName(tr("Emergency stop"));
  connect(stop, &QPushButton::clicked, this, &DrivePanel::stopAtOnce);
  row->addWidget(stop);
  const int at = grid->rowCount();
  grid->addWidget(new QLabel(tr("Direction"), this), at, 0);
  grid->addLayout(row, at, 1, 1, 2);
}

QTableView* DrivePanel::makeKeys() {
  auto* list = new KeyList(this, [this](int row, int key, bool down) {
    if (down && !held_.contains(key)) {
      held_[key] = row;
      operate(row, true);
    } else if (!down && held_.contains(key)) {
      operate(held_.take(key), false);
    }
  });
  list->setModel(keys_);
  setUpTable(list, tr("Keys of the set"), DriveKeyModel::labelColumn);
  list->setEditTriggers(QAbstractItemView::NoEditTriggers);
  return list;
}

void DrivePanel::begin(const model::Project& project, int voices) {
  driving_ = false;  // what is set here is how the engine begins, and no command
  keys_->setProject(project);
  held_.clear();
  sounding_.clear();
  refused_ = 0;
  ownStates_.clear();
  slipping_ = false;
  voice_limit_ = voices;
  stateWord_ = driveWord("standing");
  effortWord_.clear();
  regulator_->setValue(0);
  load_->setValue(0);
  gradient_->setValue(0);
  forward_->setChecked(true);
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
  driving_ = true;
  qApp->installEventFilter(this);
  regulator_->setFocus();
}

void DrivePanel::end() {
  if (!driving_) return;
  letAllGo();
  qApp->removeEventFilter(this);
  driving_ = false;
}

void DrivePanel::setClock(double seconds) {
  clock_->setText(timeText(seconds));
}

void DrivePanel::showSpeed(double kmh) {
  speed_.show(kmh * speedParts, speedText(kmh));
}

void DrivePanel::showState() {
  QStringList words{stateWord_};
  if (!effortWord_.isEmpty()) words << effortWord_.toLower();
  words += ownStates_;
  if (slipping_) words << tr("the wheels slip");
  state_->setText(words.join(QStringLiteral(" · ")));
}

void DrivePanel::showVoices() {
  const int sounding = static_cast<int>(sounding_.size());
  QString line = tr("%1 of %2").arg(sounding).arg(voice_limit_);
  if (refused_ > 0) line = tr("%1, %2 yielded").arg(line).arg(refused_);
  voices_.show(sounding, line);
  showOver(voices_.bar, sounding >= voice_limit_);
}

void DrivePanel::take(const drive::Event& event) {
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
      sounding_.insert(event.number);
      showVoices();
      break;
    case drive::EventKind::voice_end:
      if (event.number >= 0) sounding_.remove(event.number);
      if (event.reason == drive::reason_name(drive::Reason::no_voice) ||
          event.reason == drive::reason_name(drive::Reason::stolen)) {
        ++refused_;
      }
      showVoices();
      break;
    case drive::EventKind::gauges:
      pressure_.show(event.pressure_bar * pressureParts,
                     tr("%1 bar").arg(QLocale().toString(event.pressure_bar, 'f', 1)));
      water_.show(event.water * percents,
                  tr("%1 %").arg(QLocale().toString(event.water * percents, 'f', 0)));
      break;
    case drive::EventKind::key:
    case drive::EventKind::cv:
    case drive::EventKind::duty:
    case drive::EventKind::hold:
    case drive::EventKind::power:
      break;
  }
}

void DrivePanel::giveKey(int row, bool on) {
  if (keys_->row(row).on == on) return;
  keys_->setOn(row, on);
  drive::Command command = commandOf(drive::CommandKind::key, on ? 1 : 0);
  command.number = keys_->row(row).number;
  Q_EMIT given(command);
}

void DrivePanel::operate(int row, bool down) {
  if (!driving_ || row < 0 || row >= keys_->rowCount()) return;
  if (keys_->row(row).momentary) {
    giveKey(row, down);
  } else if (down) {
    giveKey(row, !keys_->row(row).on);
  }
}

void DrivePanel::letAllGo() {
  const QMap<int, int> held = std::exchange(held_, {});
  for (const int row : held)
    operate(row, false);
}

void DrivePanel::stopAtOnce() {
  if (!driving_) return;
  {
    // The stop shuts the regulator by itself; a command to shut it would undo the stop.
    const QSignalBlocker quiet(this);
    regulator_->setValue(0);
  }
  Q_EMIT given(commandOf(drive::CommandKind::emergency_stop));
}

bool DrivePanel::isFree(int key) const {
  const QWidget* focus = QApplication::focusWidget();
  if (focus == nullptr || key == Qt::Key_Escape) return true;
  if (qobject_cast<const QLineEdit*>(focus) || qobject_cast<const QAbstractSpinBox*>(focus) ||
      qobject_cast<const QPlainTextEdit*>(focus)) {
    return false;
  }
  const bool moves = key == Qt::Key_Up || key == Qt::Key_Down || key == Qt::Key_Home ||
                     key == Qt::Key_PageUp || key == Qt::Key_PageDown;
  if (!moves || focus == regulator_) return true;
  return !qobject_cast<const QAbstractSlider*>(focus) &&
         !qobject_cast<const QAbstractItemView*>(focus) && !qobject_cast<const QComboBox*>(focus);
}

bool DrivePanel::pressed(const QKeyEvent& event, bool act) {
  const int key = event.key();
  if ((event.modifiers() & ~(Qt::KeypadModifier | Qt::ShiftModifier)) != 0 || !isFree(key))
    return false;
  const auto move = [&](int value) {
    if (act) regulator_->setValue(value);
    return true;
  };
  switch (key) {
    case Qt::Key_Escape:
      if (act && !event.isAutoRepeat()) stopAtOnce();
      return true;
    case Qt::Key_Up:
      return move(regulator_->value() + 1);
    case Qt::Key_Down:
      return move(regulator_->value() - 1);
    case Qt::Key_PageUp:
      return move(regulator_->value() + pageStep);
    case Qt::Key_PageDown:
      return move(regulator_->value() - pageStep);
    case Qt::Key_Home:
      return move(0);
    default:
      break;
  }
  const int row = keys_->rowOfShortcut(key);
  if (row < 0) return false;
  if (act && !event.isAutoRepeat() && !held_.contains(key)) {
    held_[key] = row;
    operate(row, true);
  }
  return true;
}

bool DrivePanel::eventFilter(QObject* watched, QEvent* event) {
  const bool press = event->type() == QEvent::KeyPress;
  const bool release = event->type() == QEvent::KeyRelease;
  if (event->type() == QEvent::WindowDeactivate && watched == window()) letAllGo();
  if (!press && !release && event->type() != QEvent::ShortcutOverride) return false;
  const auto* widget = qobject_cast<const QWidget*>(watched);
  if (widget == nullptr || widget->window() != window() || !isVisible()) return false;
  const auto& key = *static_cast<QKeyEvent*>(event);
  if (release) {
    if (key.key() == Qt::Key_Space || !held_.contains(key.key())) return false;
    if (!key.isAutoRepeat()) operate(held_.take(key.key()), false);
    return true;
  }
  if (!pressed(key, press)) return false;
  event->accept();
  return true;
}

void DrivePanel::hideEvent(QHideEvent* event) {
  letAllGo();
  QWidget::hideEvent(event);
}

}  // namespace fourbeat::ui
