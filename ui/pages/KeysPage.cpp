// SPDX-License-Identifier: GPL-3.0-or-later
#include "KeysPage.h"

#include "KeyForm.h"
#include "PageParts.h"
#include "Sections.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/KeyMapModel.h"
#include "views/CellDelegate.h"

#include "fourbeat/store/project_file.h"
#include "fourbeat/work/joined_clip.h"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QItemSelectionModel>
#include <QSplitter>
#include <QStackedWidget>
#include <QTabWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <algorithm>
#include <array>
#include <set>
#include <utility>

namespace fourbeat::ui {

namespace {

/// The lowest key from `from` on that nothing uses; the last key when all are used.
int freeKey(const model::Project& project, int from) {
  std::set<int> used;
  for (const model::Key& key : project.keys)
    used.insert(key.number);
  for (int number = from; number <= model::highest_key; ++number) {
    if (!used.contains(number)) return number;
  }
  return model::highest_key;
}

std::vector<const model::Sound*> soundsWithoutKey(const model::Project& project) {
  std::vector<const model::Sound*> sounds;
  for (const model::Sound& sound : project.sounds) {
    const bool used = std::any_of(project.keys.begin(), project.keys.end(),
                                  [&](const model::Key& key) { return key.sound == sound.id; });
    if (!used) sounds.push_back(&sound);
  }
  return sounds;
}

}  // namespace

KeysPage::KeysPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, parent), model_(new KeyMapModel(workspace, this)) {
  tabs_ = makePageTabs(this);
  makeKeys();
  makeSections();
  if (model_->rowCount() > 0) table_->selectRow(0);
  refresh();
}

void KeysPage::makeSections() {
  const auto add = [this](Section* section, const QString& title, const char* list) {
    tabs_->addTab(section, title);
    sections_.push_back({QString::fromLatin1(list), section});
  };
  add(makeTriggers(workspace(), tabs_), tr("Triggers"), "/triggers");
  add(makeLayers(workspace(), tabs_), tr("Layers"), "/layers");
  add(makeStates(workspace(), tabs_), tr("States"), "/states");
  add(makeDriving(workspace(), tabs_), tr("How it drives"), "/driving");
  add(makeDuties(workspace(), tabs_), tr("Fire and water"), "/duties");
  connect(tabs_, &QTabWidget::currentChanged, this, &KeysPage::refresh);
}

void KeysPage::makeKeys() {
  auto* keys = new QWidget(tabs_);
  auto* row = new QHBoxLayout(keys);
  row->setContentsMargins(0, Theme::gap, 0, 0);
  auto* split = new QSplitter(Qt::Horizontal, keys);
  row->addWidget(split);
  tabs_->addTab(keys, tr("Keys"));
  makeList();
  auto* left = new QWidget(split);
  auto* column = new QVBoxLayout(left);
  column->setContentsMargins(0, 0, Theme::gap, 0);
  auto* bar = new QHBoxLayout;
  bar->addWidget(makeButton(
      this, QStringLiteral("add"), tr("&Add key"), tr("Add a key for a sound that has none"),
      [this] { addKey(); }, QKeySequence(Qt::Key_Insert), table_));
  duplicate_ = makeButton(
      this, {}, tr("&Duplicate"), tr("The same use once more, on a free key"),
      [this] { duplicateKey(); }, QKeySequence(Qt::CTRL | Qt::Key_D), table_);
  remove_ = makeButton(
      this, QStringLiteral("remove"), tr("&Remove"), tr("Remove this use"), [this] { removeKey(); },
      QKeySequence(Qt::Key_Delete), table_);
  bar->addWidget(duplicate_);
  bar->addWidget(remove_);
  bar->addStretch();
  column->addLayout(bar);
  stack_ = new QStackedWidget(left);
  stack_->addWidget(table_);
  QLabel* empty = makeLabel(stack_,
                            tr("No key plays a sound yet. Add a key for the whistle first: it is "
                               "what every driver reaches for."),
                            "muted");
  empty->setAlignment(Qt::AlignCenter);
  stack_->addWidget(empty);
  column->addWidget(stack_, 1);
  split->addWidget(left);
  split->addWidget(makeTry());
  split->setStretchFactor(0, 3);
  split->setStretchFactor(1, 1);
  split->setChildrenCollapsible(false);

  connect(table_->selectionModel(), &QItemSelectionModel::currentRowChanged, this, [this] {
    latched_ = false;
    wish_ = Wish::none;
    refresh();
    prepare();
  });
  connect(model_, &QAbstractItemModel::dataChanged, this, &KeysPage::refresh);
  connect(model_, &QAbstractItemModel::rowsInserted, this, &KeysPage::refresh);
  connect(model_, &QAbstractItemModel::rowsRemoved, this, &KeysPage::refresh);
  connect(&workspace().document(), &Document::changed, this, &KeysPage::refresh);
  connect(&workspace().live(), &LiveCheck::updated, this, &KeysPage::refresh);
  connect(&workspace().transport(), &Transport::stateChanged, this, &KeysPage::refresh);
}

void KeysPage::makeList() {
  table_ = new QTableView(this);
  table_->setModel(model_);
  table_->setItemDelegate(new CellDelegate(table_));
  setUpTable(table_, tr("Function keys"));
  const int letter = table_->fontMetrics().averageCharWidth();
  const std::array widths{6, 17, 12, 11, 17, 24};
  for (int i = 0; i < static_cast<int>(widths.size()); ++i)
    table_->setColumnWidth(i, widths.at(static_cast<std::size_t>(i)) * letter);
}

QWidget* KeysPage::makeTry() {
  auto* panel = new QWidget(this);
  auto* column = new QVBoxLayout(panel);
  column->setContentsMargins(Theme::gap, 0, 0, 0);
  column->setSpacing(Theme::wide);
  title_ = makeHeading(panel, {});
  what_ = makeLabel(panel, {}, "muted");
  try_ = new QPushButton(panel);
  try_->setProperty("ownsSpace", true);  // it is pressed and let go by the space bar
  try_->setIcon(Theme::instance().icon(QStringLiteral("play")));
  try_->setMinimumHeight(Theme::section * 2);
  try_->setAutoDefault(false);
  connect(try_, &QPushButton::pressed, this, &KeysPage::tryPressed);
  connect(try_, &QPushButton::released, this, &KeysPage::tryReleased);
  status_ = makeLabel(panel, {}, "muted");
  snags_ = makeLabel(panel, {}, "warning");
  snags_->setTextInteractionFlags(Qt::TextSelectableByMouse);
  for (QWidget* part : std::initializer_list<QWidget*>{title_, what_, try_, status_, snags_})
    column->addWidget(part);
  form_ = new KeyForm(workspace(), panel);
  column->addWidget(makeFormScroll(form_, panel), 1);
  return panel;
}

const model::Key* KeysPage::current() const {
  return model_->rowAt(table_->currentIndex());
}

void KeysPage::select(Id<model::Key> key) {
  const int row = model_->rowOf(key);
  if (row < 0) return;
  const QModelIndex index = model_->index(row, std::max(0, table_->currentIndex().column()));
  table_->setCurrentIndex(index);
  table_->scrollTo(index);
}

void KeysPage::addKey() {
  const model::Project& project = workspace().project();
  model::Key key;
  key.number = freeKey(project, 0);
  const std::vector<const model::Sound*> waiting = soundsWithoutKey(project);
  if (!waiting.empty()) {
    key.sound = waiting.front()->id;
    key.label = waiting.front()->name;
  }
  if (workspace().perform(tr("Add key F%1").arg(key.number),
                          {model::Add<model::Key>{key, std::nullopt}})) {
    select(model::last_drawn<model::Key>(workspace().project()));
    table_->setFocus();
  }
}

void KeysPage::duplicateKey() {
  if (current() == nullptr) return;
  model::Key key = *current();
  key.id = {};
  key.number = freeKey(workspace().project(), key.number);
  if (workspace().perform(tr("Duplicate key as F%1").arg(key.number),
                          {model::Add<model::Key>{key, std::nullopt}})) {
    select(model::last_drawn<model::Key>(workspace().project()));
  }
}

void KeysPage::removeKey() {
  if (current() == nullptr) return;
  const model::Key key = *current();
  (void)workspace().perform(tr("Remove key F%1").arg(key.number),
                            {model::Remove<model::Key>{key.id}});
}

void KeysPage::refresh() {
  const model::Key* key = current();
  stack_->setCurrentIndex(model_->rowCount() > 0 ? 0 : 1);
  duplicate_->setEnabled(key != nullptr);
  remove_->setEnabled(key != nullptr);
  const model::Sound* sound =
      key == nullptr ? nullptr : model::find(workspace().project(), key->sound);
  try_->setEnabled(sound != nullptr);
  const bool latching = key != nullptr && key->mode == model::KeyMode::latching;
  const QString label = !latching  ? tr("Hold to sound")
                        : latched_ ? tr("Press: off")
                                   : tr("Press: on");
  try_->setText(label);
  try_->setAccessibleName(key == nullptr ? label : tr("F%1: %2").arg(key->number).arg(label));
  try_->setToolTip(latching ? tr("Try the key: it sounds until it is pressed again")
                            : tr("Try the key: it sounds while it is held (mouse or space bar)"));
  refreshNeed();
  form_->setEntity(key == nullptr ? Id<model::Key>() : key->id);
  if (key == nullptr) {
    title_->setText(tr("No key selected"));
    what_->clear();
    status_->clear();
    snags_->clear();
    return;
  }
  title_->setText(key->label.empty() ? tr("F%1").arg(key->number)
                                     : tr("F%1  %2").arg(key->number).arg(text(key->label)));
  QStringList lines;
  if (sound == nullptr) {
    lines << (key->task ? tr("It plays no sound.")
                        : tr("It plays no sound: choose one in the list."));
  } else {
    lines << tr("%1: plays “%2” (%3).")
                 .arg(word(key->mode), text(sound->name), word(sound->kind).toLower());
    if (key->direction != model::KeyDirection::any)
      lines << tr("Only while the engine faces this way: %1.").arg(word(key->direction).toLower());
  }
  if (key->task) lines << tr("%1.").arg(taskText(workspace().project(), key->task));
  what_->setText(lines.join(QLatin1Char('\n')));
  snags_->setText(model_->snagsOf(key->id));
  snags_->setVisible(!snags_->text().isEmpty());
}

void KeysPage::refreshNeed() {
  const int tab = tabs_->currentIndex() - 1;
  if (tab >= 0 && tab < static_cast<int>(sections_.size()))
    return setNeed(sections_[static_cast<std::size_t>(tab)].section->need());
  const model::Project& project = workspace().project();
  const std::vector<const model::Sound*> waiting = soundsWithoutKey(project);
  if (project.sounds.empty()) {
    setNeed(tr("A key plays a sound: make a sound on the Segments page first."));
  } else if (project.keys.empty()) {
    setNeed(tr("Give each sound that the driver starts a key."));
  } else if (!waiting.empty()) {
    setNeed(tr("Sounds without a key: %1. The next is “%2”.")
                .arg(waiting.size())
                .arg(text(waiting.front()->name)));
  } else {
    setNeed(tr("Every sound has a key. Try each one: press and let go as the driver will."));
  }
}

void KeysPage::tryPressed() {
  const model::Key* key = current();
  if (key == nullptr) return;
  if (key->mode == model::KeyMode::latching && latched_) {
    latched_ = false;
    wish_ = Wish::none;
    workspace().transport().letGo();
  } else {
    latched_ = key->mode == model::KeyMode::latching;
    play(Wish::hold);
  }
  refresh();
}

void KeysPage::tryReleased() {
  const model::Key* key = current();
  if (key == nullptr || key->mode == model::KeyMode::latching) return;
  // Let go before the sound was ready: it plays once.
  if (wish_ == Wish::hold) {
    wish_ = Wish::once;
  } else {
    workspace().transport().letGo();
  }
}

void KeysPage::play(Wish wish) {
  const model::Key* key = current();
  if (key == nullptr || !key->sound.is_set()) return;
  if (clip_ && clipSound_ == key->sound && clipRevision_ == workspace().document().revision()) {
    wish_ = Wish::none;
    start(wish == Wish::hold);
    return;
  }
  wish_ = wish;
  prepare();
}

void KeysPage::start(bool hold) {
  const model::Key* key = current();
  if (key == nullptr) return;
  PlayRequest request;
  request.source = ClipSource{clip_, hold};
  request.title = title_->text();
  request.key = QStringLiteral("key/%1").arg(key->id.value());
  workspace().transport().play(request);
}

void KeysPage::prepare() {
  const model::Key* key = current();
  const model::Sound* found =
      key == nullptr ? nullptr : model::find(workspace().project(), key->sound);
  if (found == nullptr || (!isVisible() && wish_ == Wish::none)) return;
  if (clip_ && clipSound_ == found->id && clipRevision_ == workspace().document().revision()) {
    return showLength();
  }
  status_->setText(tr("Getting the sound ready …"));
  workspace().jobs().run<audio::Clip>(
      tr("Rendering “%1”").arg(text(found->name)), this,
      [project = workspace().document().snapshot(), folder = workspace().document().folder(),
       sound = *found](JobControl& job) { return work::joined_clip(*project, folder, sound, job); },
      [this, sound = found->id,
       revision = workspace().document().revision()](Result<audio::Clip> clip) {
        const Wish wish = std::exchange(wish_, Wish::none);
        if (!clip) {
          clip_.reset();
          latched_ = false;
          setRole(status_, "error");
          status_->setText(tr("It cannot be played: %1").arg(errorLine(clip.error())));
          refresh();
          return;
        }
        clip_ = std::make_shared<const audio::Clip>(std::move(*clip));
        clipSound_ = sound;
        clipRevision_ = revision;
        showLength();
        if (wish != Wish::none && current() != nullptr && current()->sound == sound)
          start(wish == Wish::hold);
      },
      QStringLiteral("key"), JobKind::heardQuiet);
}

void KeysPage::showLength() {
  const double seconds = static_cast<double>(clip_->samples.size()) / clip_->sample_rate_hz;
  setRole(status_, "muted");
  status_->setText(clip_->loop ? tr("%1 long, and longer while it is held").arg(timeText(seconds))
                               : tr("%1 long").arg(timeText(seconds)));
}

void KeysPage::entered() {
  prepare();
}

void KeysPage::playRequested() {
  if (tabs_->currentIndex() == 0) play(Wish::once);
}

bool KeysPage::shows(const QString& pointer) const {
  const auto in = [&](const QString& list) {
    return pointer == list || pointer.startsWith(list + QLatin1Char('/'));
  };
  return in(QStringLiteral("/keys")) || std::any_of(sections_.begin(), sections_.end(),
                                                    [&](const Tab& tab) { return in(tab.list); });
}

void KeysPage::reveal(const QString& pointer) {
  const auto place = static_cast<std::size_t>(pointer.section(QLatin1Char('/'), 2, 2).toUInt());
  const QString list = QLatin1Char('/') + pointer.section(QLatin1Char('/'), 1, 1);
  for (const Tab& tab : sections_) {
    if (tab.list != list) continue;
    tabs_->setCurrentWidget(tab.section);
    return tab.section->reveal(pointer.section(QLatin1Char('/'), 2));
  }
  tabs_->setCurrentIndex(0);
  if (place >= workspace().project().keys.size()) return;
  select(workspace().project().keys[place].id);
  table_->setFocus();
}

}  // namespace fourbeat::ui
