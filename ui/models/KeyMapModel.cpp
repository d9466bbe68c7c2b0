// SPDX-License-Identifier: GPL-3.0-or-later
#include "KeyMapModel.h"

#include "SnagLines.h"
#include "Theme.h"

#include <QFont>
#include <QPointF>
#include <algorithm>
#include <array>

namespace fourbeat::ui {

namespace {

constexpr std::array modes{model::KeyMode::latching, model::KeyMode::momentary};
constexpr std::array directions{model::KeyDirection::any, model::KeyDirection::forward,
                                model::KeyDirection::reverse};

template <class List, class Value>
int placeOf(const List& list, const Value& value) {
  return static_cast<int>(std::find(list.begin(), list.end(), value) - list.begin());
}

/// 0: no sound; else 1 + its place in the project's list.
int placeOfSound(const model::Project& project, Id<model::Sound> id) {
  for (std::size_t i = 0; i < project.sounds.size(); ++i) {
    if (project.sounds[i].id == id) return static_cast<int>(i) + 1;
  }
  return 0;
}

}  // namespace

KeyMapModel::KeyMapModel(Workspace& workspace, QObject* parent)
    : RowModel(parent), workspace_(workspace) {
  connect(&workspace.document(), &Document::changed, this, &KeyMapModel::refresh);
  connect(&workspace.live(), &LiveCheck::updated, this, &KeyMapModel::refreshSnags);
  refresh();
  refreshSnags();
}

int KeyMapModel::columnCount(const QModelIndex& parent) const {
  return parent.isValid() ? 0 : columns;
}

void KeyMapModel::refresh() {
  std::vector<model::Key> keys = workspace_.project().keys;
  std::stable_sort(keys.begin(), keys.end(),
                   [](const model::Key& a, const model::Key& b) { return a.number < b.number; });
  setRows(std::move(keys));
  touch(soundColumn, taskColumn);  // a sound or an option may have another name
}

void KeyMapModel::refreshSnags() {
  auto snags = snagLines(workspace_.live(), QLatin1String("keys"), workspace_.project().keys);
  if (!snags || *snags == snags_) return;
  snags_ = std::move(*snags);
  touch(snagColumn, snagColumn);
}

QString KeyMapModel::snagsOf(Id<model::Key> key) const {
  return snags_.value(key.value());
}

QStringList KeyMapModel::choices(int column) const {
  QStringList words;
  if (column == modeColumn) {
    for (const model::KeyMode mode : modes)
      words << word(mode);
  } else if (column == directionColumn) {
    for (const model::KeyDirection direction : directions)
      words << word(direction);
  } else if (column == soundColumn) {
    words << tr("No sound");
    for (const model::Sound& sound : workspace_.project().sounds)
      words << text(sound.name);
  }
  return words;
}

QString KeyMapModel::shown(const model::Key& key, int column) const {
  switch (column) {
    case numberColumn:
      return tr("F%1").arg(key.number);
    case labelColumn:
      return text(key.label);
    case modeColumn:
      return word(key.mode);
    case directionColumn:
      return word(key.direction);
    case soundColumn: {
      const model::Sound* sound = model::find(workspace_.project(), key.sound);
      return sound == nullptr ? tr("No sound") : text(sound->name);
    }
    case taskColumn:
      return taskText(workspace_.project(), key.task);
    default:
      return snags_.value(key.id.value()).section(QLatin1Char('\n'), 0, 0);
  }
}

QVariant KeyMapModel::data(const QModelIndex& index, int role) const {
  const model::Key* key = rowAt(index);
  if (key == nullptr) return {};
  const int column = index.column();
  switch (role) {
    case Qt::DisplayRole:
      return shown(*key, column);
    case Qt::ToolTipRole:
      return column == snagColumn ? snags_.value(key->id.value()) : shown(*key, column);
    case Qt::AccessibleTextRole:
      return tr("%1: %2").arg(headerData(column, Qt::Horizontal, Qt::DisplayRole).toString(),
                              shown(*key, column));
    case Qt::DecorationRole:
      if (column == snagColumn && snags_.contains(key->id.value()))
        return Theme::instance().icon(QStringLiteral("warning"), Theme::Ink::warning);
      return {};
    case Qt::EditRole:
      switch (column) {
        case numberColumn:
          return key->number;
        case modeColumn:
          return placeOf(modes, key->mode);
        case directionColumn:
          return placeOf(directions, key->direction);
        case soundColumn:
          return placeOfSound(workspace_.project(), key->sound);
        default:
          return shown(*key, column);
      }
    case choicesRole: {
      const QStringList words = choices(column);
      return words.isEmpty() ? QVariant() : QVariant(words);
    }
    case rangeRole:
      return column == numberColumn ? QVariant(QPointF(0, model::highest_key)) : QVariant();
    default:
      return {};
  }
}

QVariant KeyMapModel::headerData(int section, Qt::Orientation orientation, int role) const {
  if (orientation != Qt::Horizontal || role != Qt::DisplayRole) return {};
  switch (section) {
    case numberColumn:
      return tr("Key");
    case labelColumn:
      return tr("Label");
    case modeColumn:
      return tr("Action");
    case directionColumn:
      return tr("Direction");
    case soundColumn:
      return tr("Sound");
    case taskColumn:
      return tr("Does");
    case snagColumn:
      return tr("Snags");
    default:
      return {};
  }
}

Qt::ItemFlags KeyMapModel::flags(const QModelIndex& index) const {
  const Qt::ItemFlags flags = QAbstractTableModel::flags(index);
  return index.isValid() && index.column() < taskColumn ? flags | Qt::ItemIsEditable : flags;
}

bool KeyMapModel::setData(const QModelIndex& index, const QVariant& value, int role) {
  const model::Key* before = rowAt(index);
  if (before == nullptr || role != Qt::EditRole) return false;
  model::Key key = *before;
  const auto place = static_cast<std::size_t>(std::max(0, value.toInt()));
  const std::vector<model::Sound>& sounds = workspace_.project().sounds;
  switch (index.column()) {
    case numberColumn:
      key.number = value.toInt();
      break;
    case labelColumn:
      key.label = utf8(value.toString());
      break;
    case modeColumn:
      if (place < modes.size()) key.mode = modes.at(place);
      break;
    case directionColumn:
      if (place < directions.size()) key.direction = directions.at(place);
      break;
    case soundColumn:
      key.sound = place == 0 || place > sounds.size() ? Id<model::Sound>() : sounds[place - 1].id;
      break;
    default:
      return false;
  }
  if (key == *before) return true;
  return workspace_.perform(tr("Change key F%1").arg(before->number),
                            {model::Replace<model::Key>{key}});
}

}  // namespace fourbeat::ui
