// SPDX-License-Identifier: GPL-3.0-or-later
#include "DriveKeyModel.h"

#include "Wording.h"

#include <algorithm>
#include <map>
#include <utility>

namespace fourbeat::ui {

namespace {

constexpr int digits = 10;

/// What a use is called: its label, else its sound's name.
QString nameOf(const model::Project& project, const model::Key& key) {
  if (!key.label.empty()) return text(key.label);
  for (const model::Sound& sound : project.sounds) {
    if (sound.id == key.sound) return text(sound.name);
  }
  return {};
}

}  // namespace

void DriveKeyModel::setProject(const model::Project& project) {
  std::map<int, std::pair<QStringList, bool>> keys;
  for (const model::Key& key : project.keys) {
    auto& [names, momentary] = keys[key.number];
    if (const QString name = nameOf(project, key); !name.isEmpty()) names << name;
    momentary = momentary || key.mode == model::KeyMode::momentary;
  }
  beginResetModel();
  rows_.clear();
  int letter = Qt::Key_A;
  for (auto& [number, key] : keys) {
    key.first.removeDuplicates();
    Row row;
    row.number = number;
    row.label = key.first.join(QStringLiteral(" / "));
    row.momentary = key.second;
    if (number < digits) {
      row.shortcut = Qt::Key_0 + number;
    } else if (letter <= Qt::Key_Z) {
      row.shortcut = letter++;
    }
    rows_.push_back(std::move(row));
  }
  endResetModel();
}

void DriveKeyModel::setOn(int row, bool on) {
  rows_[static_cast<std::size_t>(row)].on = on;
  Q_EMIT dataChanged(index(row, 0), index(row, columns - 1));
}

int DriveKeyModel::rowOfShortcut(int key) const {
  const auto found = std::find_if(rows_.begin(), rows_.end(),
                                  [key](const Row& row) { return row.shortcut == key; });
  return key == 0 || found == rows_.end() ? -1 : static_cast<int>(found - rows_.begin());
}

int DriveKeyModel::rowCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : static_cast<int>(rows_.size());
}

int DriveKeyModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

Qt::ItemFlags DriveKeyModel::flags(const QModelIndex& index) const {
  if (!index.isValid()) return {};
  // Checkable, so that the space bar goes to the row and not to what plays.
  return QAbstractTableModel::flags(index) | Qt::ItemIsUserCheckable;
}

QVariant DriveKeyModel::data(const QModelIndex& index, int role) const {
  if (!index.isValid() || index.row() >= rowCount()) return {};
  const Row& row = rows_[static_cast<std::size_t>(index.row())];
  if (role == Qt::CheckStateRole && index.column() == stateColumn)
    return row.on ? Qt::Checked : Qt::Unchecked;
  if (role == Qt::AccessibleTextRole && index.column() == stateColumn)
    return row.on ? tr("%1 is on").arg(row.label) : tr("%1 is off").arg(row.label);
  if (role != Qt::DisplayRole) return {};
  switch (index.column()) {
    case shortcutColumn:
      return QKeySequence(row.shortcut).toString(QKeySequence::NativeText);
    case labelColumn:
      return row.label;
    case numberColumn:
      return tr("F%1").arg(row.number);
    case mannerColumn:
      return row.momentary ? tr("while pressed") : tr("on and off");
    case stateColumn:
      return row.on ? tr("On") : tr("Off");
    default:
      return {};
  }
}

QVariant DriveKeyModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  switch (section) {
    case shortcutColumn:
      return tr("Press");
    case labelColumn:
      return tr("What it does");
    case numberColumn:
      return tr("Key");
    case mannerColumn:
      return tr("Works");
    case stateColumn:
      return tr("State");
    default:
      return {};
  }
}

}  // namespace fourbeat::ui
