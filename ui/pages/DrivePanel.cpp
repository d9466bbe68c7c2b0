// SPDX-License-Identifier: GPL-3.0-or-later
#include "DrivePanel.h"

#include "DriveControls.h"
#include "DriveCvs.h"
#include "DriveGauges.h"
#include "DriveKeys.h"
#include "Theme.h"

#include <QAbstractItemView>
#include <QAbstractSpinBox>
#include <QApplication>
#include <QComboBox>
#include <QKeyEvent>
#include <QLineEdit>
#include <QPlainTextEdit>
#include <QSlider>
#include <QTabWidget>
#include <QVBoxLayout>

namespace fourbeat::ui {

DrivePanel::DrivePanel(QWidget* parent)
    : QWidget(parent),
      gauges_(new DriveGauges(this)),
      controls_(new DriveControls(this)),
      keys_(new DriveKeys(this)),
      cvs_(new DriveCvs(this)) {
  setAccessibleName(tr("The driver's place"));
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, 0, Theme::gap, 0);
  column->setSpacing(Theme::wide);
  column->addWidget(gauges_);
  column->addWidget(controls_);
  auto* tabs = new QTabWidget(this);
  tabs->setAccessibleName(tr("Keys and CVs"));
  tabs->setDocumentMode(true);
  tabs->addTab(keys_, tr("Keys"));
  tabs->addTab(cvs_, tr("CVs"));
  column->addWidget(tabs, 1);
  connect(controls_, &DriveControls::given, this, &DrivePanel::given);
  connect(keys_, &DriveKeys::given, this, [this](const drive::Command& command) {
    if (driving_) Q_EMIT given(command);
  });
  connect(cvs_, &DriveCvs::given, this, &DrivePanel::given);
  connect(cvs_, &DriveCvs::left, this, [this] { controls_->regulator()->setFocus(); });
}

const DriveKeyModel& DrivePanel::keys() const {
  return keys_->keys();
}

void DrivePanel::begin(const model::Project& project, int voices) {
  keys_->begin(project);
  cvs_->begin(project);
  gauges_->begin(project, voices);
  controls_->begin();
  driving_ = true;
  qApp->installEventFilter(this);
  controls_->regulator()->setFocus();
}

void DrivePanel::end() {
  if (!driving_) return;
  keys_->letAllGo();
  controls_->end();
  cvs_->end();
  qApp->removeEventFilter(this);
  driving_ = false;
}

void DrivePanel::take(const drive::Event& event) {
  gauges_->take(event);
}

void DrivePanel::setClock(double seconds) {
  gauges_->setClock(seconds);
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
  if (!moves || focus == controls_->regulator()) return true;
  return !qobject_cast<const QAbstractSlider*>(focus) &&
         !qobject_cast<const QAbstractItemView*>(focus) && !qobject_cast<const QComboBox*>(focus);
}

bool DrivePanel::moveRegulator(int key, bool act) {
  QSlider* regulator = controls_->regulator();
  int value = regulator->value();
  switch (key) {
    case Qt::Key_Up:
      value += regulator->singleStep();
      break;
    case Qt::Key_Down:
      value -= regulator->singleStep();
      break;
    case Qt::Key_PageUp:
      value += regulator->pageStep();
      break;
    case Qt::Key_PageDown:
      value -= regulator->pageStep();
      break;
    case Qt::Key_Home:
      value = 0;
      break;
    default:
      return false;
  }
  if (act) regulator->setValue(value);
  return true;
}

bool DrivePanel::pressed(const QKeyEvent& event, bool act) {
  const int key = event.key();
  if ((event.modifiers() & ~(Qt::KeypadModifier | Qt::ShiftModifier)) != 0 || !isFree(key))
    return false;
  if (moveRegulator(key, act)) return true;
  const bool once = act && !event.isAutoRepeat();
  if (key == Qt::Key_Escape) {
    if (once) controls_->stopAtOnce();
    return true;
  }
  return keys_->press(key, once);
}

bool DrivePanel::eventFilter(QObject* watched, QEvent* event) {
  const bool press = event->type() == QEvent::KeyPress;
  const bool release = event->type() == QEvent::KeyRelease;
  if (event->type() == QEvent::WindowDeactivate && watched == window()) keys_->letAllGo();
  if (!press && !release && event->type() != QEvent::ShortcutOverride) return false;
  const auto* widget = qobject_cast<const QWidget*>(watched);
  if (widget == nullptr || widget->window() != window() || !isVisible()) return false;
  const auto& key = *static_cast<QKeyEvent*>(event);
  if (release) {
    if (key.key() == Qt::Key_Space || !keys_->isHeld(key.key())) return false;
    if (!key.isAutoRepeat()) keys_->release(key.key());
    return true;
  }
  if (!pressed(key, press)) return false;
  event->accept();
  return true;
}

void DrivePanel::hideEvent(QHideEvent* event) {
  keys_->letAllGo();
  QWidget::hideEvent(event);
}

}  // namespace fourbeat::ui
