// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveKeys.h"

#include "DriveCommand.h"
#include "Fields.h"

#include <QHeaderView>
#include <QKeyEvent>
#include <QMouseEvent>
#include <utility>

namespace fourbeat::ui {

namespace {
/// The Qt::Key that stands for the pointer.
constexpr int pointerKey = -1;
}  // namespace

DriveKeys::DriveKeys(QWidget* parent) : QTableView(parent), keys_(new DriveKeyModel(this)) {
  setModel(keys_);
  setUpTable(this, tr("Keys of the set"), DriveKeyModel::labelColumn);
  setEditTriggers(QAbstractItemView::NoEditTriggers);
}

void DriveKeys::begin(const model::Project& project) {
  held_.clear();
  keys_->setProject(project);
}

void DriveKeys::giveKey(int row, bool on) {
  if (keys_->row(row).on == on) return;
  keys_->setOn(row, on);
  Q_EMIT given(commandOf(drive::CommandKind::key, on ? 1 : 0, 0.0, keys_->row(row).number));
}

void DriveKeys::operate(int row, bool down) {
  if (row < 0 || row >= keys_->rowCount()) return;
  if (keys_->row(row).momentary) {
    giveKey(row, down);
  } else if (down) {
    giveKey(row, !keys_->row(row).on);
  }
}

void DriveKeys::hold(int key, int row) {
  if (held_.contains(key)) return;
  held_[key] = row;
  operate(row, true);
}

bool DriveKeys::press(int key, bool act) {
  const int row = keys_->rowOfShortcut(key);
  if (row < 0) return false;
  if (act) hold(key, row);
  return true;
}

bool DriveKeys::release(int key) {
  if (!held_.contains(key)) return false;
  operate(held_.take(key), false);
  return true;
}

void DriveKeys::letAllGo() {
  const QMap<int, int> held = std::exchange(held_, {});
  for (const int row : held)
    operate(row, false);
}

void DriveKeys::mousePressEvent(QMouseEvent* event) {
  QTableView::mousePressEvent(event);
  const QModelIndex at = indexAt(event->pos());
  if (event->button() == Qt::LeftButton && at.isValid()) hold(pointerKey, at.row());
}

void DriveKeys::mouseReleaseEvent(QMouseEvent* event) {
  QTableView::mouseReleaseEvent(event);
  if (event->button() == Qt::LeftButton) release(pointerKey);
}

void DriveKeys::keyPressEvent(QKeyEvent* event) {
  if (event->key() != Qt::Key_Space) return QTableView::keyPressEvent(event);
  if (!event->isAutoRepeat() && currentIndex().isValid()) hold(Qt::Key_Space, currentIndex().row());
}

void DriveKeys::keyReleaseEvent(QKeyEvent* event) {
  if (event->key() != Qt::Key_Space) return QTableView::keyReleaseEvent(event);
  if (!event->isAutoRepeat()) release(Qt::Key_Space);
}

}  // namespace fourbeat::ui
