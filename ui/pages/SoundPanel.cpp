// SPDX-License-Identifier: GPL-3.0-or-later
#include "SoundPanel.h"

#include "Fields.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/SoundListModel.h"

#include "fourbeat/model/members.h"
#include "fourbeat/work/joined_clip.h"

#include <QHBoxLayout>
#include <QHeaderView>
#include <QPushButton>
#include <QShortcut>
#include <QTableView>

namespace fourbeat::ui {

namespace {

template <class Enum>
ChoiceDelegate::Choices words() {
  ChoiceDelegate::Choices choices;
  for (int i = 0; i < static_cast<int>(model::EnumNames<Enum>::list.size()); ++i)
    choices.append({word(static_cast<Enum>(i)), i});
  return choices;
}

}  // namespace

SoundPanel::SoundPanel(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      model_(new SoundListModel(workspace, this)),
      table_(new QTableView(this)),
      oneShot_(makeButton(this, QStringLiteral("add"), tr("New one-shot"),
                          tr("Make a sound that plays the chosen segment once"))),
      held_(makeButton(this, QStringLiteral("loop"), tr("New held sound"),
                       tr("Make a sound that holds the chosen segment; its begin and release are "
                          "chosen in the list"))),
      hear_(makeButton(this, QStringLiteral("play"), tr("Hear sound"),
                       tr("Play the chosen sound; a held one goes round until it is let go (Return "
                          "in the list)"))),
      remove_(makeButton(this, QStringLiteral("remove"), tr("Remove sound"),
                         tr("Remove the chosen sound; its segments stay (Delete)"))) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  column->setSpacing(Theme::tight);
  table_->setModel(model_);
  setUpTable(table_, tr("Sounds"), SoundListModel::nameColumn);
  table_->setToolTip(tr("Double click or F2 to change a cell"));
  for (const int part :
       {SoundListModel::beginColumn, SoundListModel::mainColumn, SoundListModel::releaseColumn}) {
    table_->horizontalHeader()->setSectionResizeMode(part, QHeaderView::Stretch);
  }
  const auto delegate = [this](int at, QStyledItemDelegate* each) {
    table_->setItemDelegateForColumn(at, each);
  };
  delegate(SoundListModel::categoryColumn,
           new ChoiceDelegate(&words<model::Category>, false, this));
  delegate(SoundListModel::kindColumn, new ChoiceDelegate(&words<model::SoundKind>, false, this));
  const auto segments = [this](bool orNone) {
    ChoiceDelegate::Choices choices;
    if (orNone) choices.append({tr("None"), qlonglong{0}});
    for (const model::Segment& segment : workspace_.project().segments)
      choices.append({text(segment.name), static_cast<qlonglong>(segment.id.value())});
    return choices;
  };
  const auto orNone = [segments] { return segments(true); };
  delegate(SoundListModel::beginColumn, new ChoiceDelegate(orNone, false, this));
  delegate(SoundListModel::mainColumn,
           new ChoiceDelegate([segments] { return segments(false); }, false, this));
  delegate(SoundListModel::releaseColumn, new ChoiceDelegate(orNone, false, this));
  delegate(SoundListModel::gainColumn, new NumberDelegate({-60, 20, 1, 0.5, tr(" dB")}, this));
  delegate(SoundListModel::priorityColumn, new NumberDelegate({0, 100, 0, 5, {}}, this));
  delegate(SoundListModel::importanceColumn, new NumberDelegate({0.1, 10, 1, 0.5, {}}, this));
  column->addWidget(table_, 1);
  auto* buttons = new QHBoxLayout;
  buttons->setSpacing(Theme::tight);
  for (QPushButton* button : {oneShot_, held_, hear_, remove_})
    buttons->addWidget(button);
  buttons->addStretch(1);
  column->addLayout(buttons);
  connect(oneShot_, &QPushButton::clicked, this, [this] { makeSound(model::SoundKind::one_shot); });
  connect(held_, &QPushButton::clicked, this, [this] { makeSound(model::SoundKind::held); });
  connect(hear_, &QPushButton::clicked, this, &SoundPanel::hearSound);
  connect(remove_, &QPushButton::clicked, this, &SoundPanel::removeSound);
  auto* erase = new QShortcut(QKeySequence::Delete, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(erase, &QShortcut::activated, this, &SoundPanel::removeSound);
  auto* play = new QShortcut(Qt::Key_Return, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(play, &QShortcut::activated, this, &SoundPanel::hearSound);
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          &SoundPanel::refresh);
  connect(model_, &QAbstractItemModel::rowsRemoved, this, &SoundPanel::refresh);
  connect(&workspace.transport(), &Transport::stateChanged, this, &SoundPanel::refresh);
  refresh();
}

void SoundPanel::setSegment(Id<model::Segment> segment) {
  segment_ = segment;
  refresh();
}

void SoundPanel::choose(Id<model::Sound> sound) {
  selectRow(table_, model_->rowOf(sound.value()));
}

void SoundPanel::makeSound(model::SoundKind kind) {
  const model::Segment* segment = model::find(workspace_.project(), segment_);
  if (segment == nullptr) return;
  model::Sound sound;
  sound.name = segment->name;
  sound.kind = kind;
  (kind == model::SoundKind::held ? sound.hold : sound.segment) = segment_;
  if (workspace_.perform(tr("Make sound"), {model::Add<model::Sound>{sound, std::nullopt}})) {
    selectRow(table_, model_->rowCount() - 1);
  }
}

void SoundPanel::removeSound() {
  const qint64 id = model_->idAt(selectedRow(table_));
  if (id == 0) return;
  workspace_.perform(tr("Remove sound"), {model::Remove<model::Sound>{Id<model::Sound>(id)}});
}

bool SoundPanel::isHolding() const {
  const qint64 id = model_->idAt(selectedRow(table_));
  const Transport& transport = workspace_.transport();
  if (id == 0 || !transport.isPlaying()) return false;
  const auto* clip = std::get_if<ClipSource>(&transport.request().source);
  return transport.request().key == QStringLiteral("sound/%1").arg(id) && clip != nullptr &&
         clip->hold && !letGo_;
}

void SoundPanel::hearSound() {
  if (isHolding()) {
    letGo_ = true;
    workspace_.transport().letGo();
    refresh();
    return;
  }
  const Id<model::Sound> id(model_->idAt(selectedRow(table_)));
  const model::Sound* sound = model::find(workspace_.project(), id);
  if (sound == nullptr) return;
  using Answer = std::shared_ptr<const audio::Clip>;
  workspace_.jobs().run<Answer>(
      tr("Rendering %1").arg(text(sound->name)), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       sound = *sound](JobControl& job) -> Result<Answer> {
        Result<audio::Clip> clip = work::joined_clip(*snapshot, folder, sound, job);
        if (!clip) return clip.error();
        return std::make_shared<const audio::Clip>(std::move(*clip));
      },
      [this, id, title = text(sound->name)](Result<Answer> clip) {
        if (!clip) {
          workspace_.tell(clip.error());
          return;
        }
        PlayRequest request;
        const bool loops = (*clip)->loop.has_value();
        request.source = ClipSource{std::move(*clip), loops};
        request.repeat = !loops && workspace_.transport().repeats();
        letGo_ = false;
        request.title = title;
        request.key = QStringLiteral("sound/%1").arg(id.value());
        workspace_.transport().play(request);
      },
      QStringLiteral("hear"), JobKind::heard);
}

void SoundPanel::refresh() {
  const bool segment = model::find(workspace_.project(), segment_) != nullptr;
  const bool chosen = model_->idAt(selectedRow(table_)) != 0;
  oneShot_->setEnabled(segment);
  held_->setEnabled(segment);
  hear_->setEnabled(chosen);
  hear_->setText(isHolding() ? tr("Let go") : tr("Hear sound"));
  remove_->setEnabled(chosen);
}

}  // namespace fourbeat::ui
