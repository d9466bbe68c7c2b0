// SPDX-License-Identifier: GPL-3.0-or-later
#include "SeamReview.h"

#include "ReviewDesk.h"
#include "SeamMeasures.h"
#include "SeamView.h"
#include "SpeakerForm.h"
#include "Theme.h"
#include "Wording.h"
#include "Workspace.h"
#include "pages/Fields.h"
#include "pages/PageParts.h"

#include "fourbeat/store/data_files.h"

#include <QCheckBox>
#include <QComboBox>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QLabel>
#include <QLineEdit>
#include <QLocale>
#include <QProgressBar>
#include <QPushButton>
#include <QShortcut>
#include <QSignalBlocker>
#include <QSplitter>
#include <QTableView>
#include <QTableWidget>
#include <QVBoxLayout>

namespace fourbeat::ui {

namespace {

constexpr int reviewWidthPx = 1200;
constexpr int reviewHeightPx = 680;

/// Rates and depths of a profile, best first.
std::vector<fit::Encoding> encodingsOf(const model::DecoderProfile& profile) {
  std::vector<fit::Encoding> encodings;
  for (auto rate = profile.sample_rates_hz.rbegin(); rate != profile.sample_rates_hz.rend();
       ++rate) {
    for (auto bits = profile.bits.rbegin(); bits != profile.bits.rend(); ++bits)
      encodings.push_back({*rate, *bits});
  }
  return encodings;
}

QString wordsOf(fit::Encoding encoding) {
  return SeamReview::tr("%1 Hz, %2 bit")
      .arg(QLocale().toString(encoding.sample_rate_hz))
      .arg(encoding.bits);
}

}  // namespace

SeamReview::SeamReview(Workspace& workspace, qint64 segment, QWidget* parent)
    : QDialog(parent),
      workspace_(workspace),
      desk_(new ReviewDesk(workspace, this)),
      queue_(new QTableView(this)),
      progress_(makeLabel(this)),
      bar_(new QProgressBar(this)),
      title_(makeHeading(this, {})),
      view_(new SeamView(this)),
      stored_(new QCheckBox(tr("As stored (D)"), this)),
      encoding_(new QComboBox(this)),
      through_(new QCheckBox(tr("Through the speaker (P)"), this)),
      speaker_(new QComboBox(this)),
      figures_(makeButton(this, {}, tr("Figures … (E)"),
                          tr("See and change the figures of the set's speaker"))),
      repeat_(new QCheckBox(tr("Repeat (L)"), this)),
      summary_(makeLabel(this)),
      measures_(new QTableWidget(this)),
      told_(makeLabel(this)),
      note_(makeLine(this, tr("Note for the verdict"))) {
  setWindowTitle(tr("Review of the seams"));
  setAttribute(Qt::WA_DeleteOnClose);
  resize(reviewWidthPx, reviewHeightPx);
  if (Result<std::vector<model::Speaker>> speakers = store::load_speakers())
    speakers_ = std::move(*speakers);
  makeLayout();
  makeKeys();
  connect(desk_, &ReviewDesk::changed, this, &SeamReview::refresh);
  connect(&workspace.transport(), &Transport::positionChanged, this,
          [this](FrameIndex frame) { view_->setPlace(desk_->place(frame)); });
  connect(queue_->selectionModel(), &QItemSelectionModel::currentRowChanged, this,
          [this](const QModelIndex& now) {
            if (now.isValid() && now.row() != desk_->row()) desk_->go(now.row(), false);
          });
  connect(&desk_->queue(), &QAbstractItemModel::rowsInserted, this, &SeamReview::refresh);
  connect(&desk_->queue(), &QAbstractItemModel::dataChanged, this, &SeamReview::refresh);
  goTo(segment);
  refresh();
  queue_->setFocus();
}

void SeamReview::goTo(qint64 segment) {
  model::PieceKey key;
  key.segment = Id<model::Segment>(segment);
  int row = segment != 0 ? desk_->queue().rowOf(key) : -1;
  if (row < 0) row = std::max(desk_->queue().nextOpen(-1), 0);
  desk_->go(row, false);
}

void SeamReview::makeLayout() {
  auto* row = new QHBoxLayout(this);
  row->setContentsMargins(Theme::margin, Theme::margin, Theme::margin, Theme::margin);
  auto* split = new QSplitter(Qt::Horizontal, this);
  split->setChildrenCollapsible(false);
  row->addWidget(split);

  auto* left = new QWidget(split);
  auto* list = new QVBoxLayout(left);
  list->setContentsMargins(0, 0, Theme::gap, 0);
  list->setSpacing(Theme::gap);
  progress_->setAccessibleName(tr("How far the review has come"));
  list->addWidget(progress_);
  bar_->setAccessibleName(tr("Seams decided on"));
  bar_->setTextVisible(false);
  list->addWidget(bar_);
  queue_->setModel(&desk_->queue());
  setUpTable(queue_, tr("Seams in turn"), SeamQueueModel::nameColumn);
  queue_->setTextElideMode(Qt::ElideMiddle);
  list->addWidget(queue_, 1);
  split->addWidget(left);

  auto* right = new QWidget(split);
  auto* column = new QVBoxLayout(right);
  column->setContentsMargins(Theme::gap, 0, 0, 0);
  column->setSpacing(Theme::gap);
  title_->setAccessibleName(tr("The seam under review"));
  column->addWidget(title_);
  column->addWidget(view_, 3);
  column->addWidget(makeSwitches());
  summary_->setAccessibleName(tr("What the measures say"));
  column->addWidget(summary_);
  setUpMeasures(measures_);
  column->addWidget(measures_, 2);
  told_->setAccessibleName(tr("What happened last"));
  column->addWidget(told_);
  auto* noteRow = new QHBoxLayout;
  auto* noteLabel = new QLabel(tr("Note (T)"), this);
  noteLabel->setBuddy(note_);
  note_->setPlaceholderText(tr("What you heard; it is kept with the verdict"));
  noteRow->addWidget(noteLabel);
  noteRow->addWidget(note_, 1);
  column->addLayout(noteRow);
  auto* grid = new QGridLayout;
  grid->setSpacing(Theme::tight);
  makeButtons(grid);
  column->addLayout(grid);
  split->addWidget(right);
  split->setStretchFactor(0, 2);
  split->setStretchFactor(1, 3);
  split->setSizes({460, 700});
}

QWidget* SeamReview::makeSwitches() {
  auto* switches = new QWidget(this);
  auto* grid = new QGridLayout(switches);
  grid->setContentsMargins(0, 0, 0, 0);
  grid->setHorizontalSpacing(Theme::gap);
  grid->setVerticalSpacing(Theme::tight);
  stored_->setAccessibleName(tr("Hear it as the decoder stores it"));
  stored_->setToolTip(tr("At the decoder's rate and depth, as loud as the recording"));
  encoding_->setAccessibleName(tr("Rate and depth to hear"));
  through_->setAccessibleName(tr("Hear it through the speaker"));
  through_->setToolTip(tr("As a small speaker passes it, as loud as without"));
  speaker_->setAccessibleName(tr("The set's speaker"));
  speaker_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  speaker_->setMinimumContentsLength(14);
  repeat_->setToolTip(tr("Play it again and again, with a pause between"));
  grid->addWidget(stored_, 0, 0);
  grid->addWidget(encoding_, 0, 1);
  grid->addWidget(repeat_, 0, 2);
  grid->addWidget(through_, 1, 0);
  grid->addWidget(speaker_, 1, 1);
  grid->addWidget(figures_, 1, 2, Qt::AlignLeft);
  grid->setColumnStretch(2, 1);
  connect(stored_, &QCheckBox::toggled, this, [this](bool on) {
    desk_->setWay({on, desk_->way().speaker});
  });
  connect(through_, &QCheckBox::toggled, this, [this](bool on) {
    desk_->setWay({desk_->way().stored, on});
  });
  connect(repeat_, &QCheckBox::toggled, desk_, &ReviewDesk::setRepeats);
  connect(encoding_, &QComboBox::activated, this, [this](int index) {
    if (index <= 0) {
      desk_->setEncoding(std::nullopt);
      return;
    }
    const QSize chosen = encoding_->itemData(index).toSize();  // rate × depth
    desk_->setEncoding(fit::Encoding{chosen.width(), chosen.height()});
  });
  connect(speaker_, &QComboBox::activated, this, &SeamReview::chooseSpeaker);
  figures_->setAccessibleName(tr("Figures of the speaker"));
  connect(figures_, &QPushButton::clicked, this, &SeamReview::showFigures);
  return switches;
}

QPushButton* SeamReview::command(const QString& icon, const QString& words, const QString& tip,
                                 const QKeySequence& key, const std::function<void()>& run) {
  QPushButton* button =
      makeButton(this, icon, tr("%1 (%2)").arg(words, key.toString(QKeySequence::NativeText)), tip);
  button->setAccessibleName(words);
  button->setAccessibleDescription(tip);
  auto* shortcut = new QShortcut(key, this);
  connect(shortcut, &QShortcut::activated, button, [button] {
    if (button->isEnabled()) button->click();
  });
  connect(button, &QPushButton::clicked, this, [run] { run(); });
  return button;
}

void SeamReview::makeButtons(QGridLayout* grid) {
  const auto judge = [this](model::VerdictKind kind) {
    const QString note = note_->text().trimmed();
    note_->clear();
    desk_->judge(kind, note);
  };
  again_ = command(QStringLiteral("seam"), tr("Again"),
                   tr("Play through the seam, two seconds on either side"), Qt::Key_A,
                   [this] { desk_->again(); });
  sign_ = command(QStringLiteral("good"), tr("Sign"), tr("I have heard the seam, and it is good"),
                  Qt::Key_S, [judge] { judge(model::VerdictKind::signed_off); });
  work_ =
      command(QStringLiteral("error"), tr("Rework"), tr("I have heard the seam, and it needs work"),
              Qt::Key_R, [judge] { judge(model::VerdictKind::rejected); });
  next_ = command(QStringLiteral("loop"), tr("Next loop"),
                  tr("Take another of the loops found in this material"), Qt::Key_N,
                  [this] { desk_->nextLoop(); });
  compare_ = command(QStringLiteral("unknown"), tr("Compare blind"),
                     tr("Hear this loop and the one before it in an order that is told after you "
                        "have chosen"),
                     Qt::Key_C, [this] { desk_->compare(); });
  first_ = command({}, tr("First"), tr("The first of the two takes is better"), Qt::Key_1,
                   [this] { desk_->choose(false); });
  second_ = command({}, tr("Second"), tr("The second of the two takes is better"), Qt::Key_2,
                    [this] { desk_->choose(true); });
  take_ = command(QStringLiteral("undo"), tr("Keep chosen"),
                  tr("Give the piece the loop back that was heard before"), Qt::Key_K,
                  [this] { desk_->takeChosen(); });
  back_ = command({}, tr("Back"), tr("The seam before this one in the list"), Qt::Key_B,
                  [this] { desk_->step(-1); });
  on_ = command({}, tr("Forward"), tr("The seam after this one in the list"), Qt::Key_F,
                [this] { desk_->step(1); });
  makePrimary(sign_, QStringLiteral("good"));
  int place = 0;
  for (QPushButton* button :
       {again_, sign_, work_, next_, on_, compare_, first_, second_, take_, back_}) {
    grid->addWidget(button, place / 5, place % 5);
    ++place;
  }
}

void SeamReview::makeKeys() {
  const auto key = [this](const QKeySequence& keys, auto slot) {
    auto* shortcut = new QShortcut(keys, this);
    connect(shortcut, &QShortcut::activated, this, slot);
  };
  key(Qt::Key_D, [this] { stored_->click(); });
  key(Qt::Key_P, [this] { through_->click(); });
  key(Qt::Key_L, [this] { repeat_->click(); });
  key(Qt::Key_E, [this] { figures_->click(); });
  key(Qt::Key_T, [this] { note_->setFocus(); });
  key(Qt::Key_Plus, [this] { view_->zoom(true); });
  key(Qt::Key_Minus, [this] { view_->zoom(false); });
  key(QKeySequence::Undo, [this] { workspace_.document().undoStack().undo(); });
  key(QKeySequence::Redo, [this] { workspace_.document().undoStack().redo(); });
  connect(note_, &QLineEdit::returnPressed, this, [this] { queue_->setFocus(); });
}

void SeamReview::chooseSpeaker(int index) {
  // None, then those that come with the program, then the project's own where it is none of them.
  std::optional<model::Speaker> wanted;
  if (index >= 1 && index <= static_cast<int>(speakers_.size()))
    wanted = speakers_[static_cast<std::size_t>(index - 1)];
  if (index > static_cast<int>(speakers_.size()) || wanted == workspace_.project().speaker) return;
  if (workspace_.perform(tr("Choose speaker"), {model::SetSpeaker{wanted}}) && wanted)
    through_->setChecked(true);
}

void SeamReview::showFigures() {
  if (!form_) {
    form_ = new SpeakerForm(
        workspace_, speakers_,
        [this] {
          through_->setChecked(true);
          desk_->again();
        },
        this);
  }
  form_->show();
  form_->raise();
  form_->activateWindow();
}

void SeamReview::refreshSwitches() {
  const auto checked = workspace_.live().checked();
  const model::DecoderProfile* profile =
      checked && checked->facts.profile ? &*checked->facts.profile : nullptr;
  const QSignalBlocker quietEncoding(encoding_);
  const QVariant kept = encoding_->currentData();
  encoding_->clear();
  if (profile == nullptr) {
    encoding_->addItem(tr("No decoder is chosen"));
  } else {
    encoding_->addItem(checked->fitted
                           ? tr("As fitted: %1")
                                 .arg(wordsOf(checked->fitted->fit.sounds.empty()
                                                  ? encodingsOf(*profile).front()
                                                  : checked->fitted->fit.sounds.front().encoding))
                           : tr("As fitted"));
    for (const fit::Encoding& each : encodingsOf(*profile))
      encoding_->addItem(wordsOf(each), QSize(each.sample_rate_hz, each.bits));
    const int at = kept.isValid() ? encoding_->findData(kept) : 0;
    encoding_->setCurrentIndex(std::max(at, 0));
  }
  encoding_->setEnabled(profile != nullptr);
  stored_->setEnabled(profile != nullptr);

  const std::optional<model::Speaker>& own = workspace_.project().speaker;
  const QSignalBlocker quietSpeaker(speaker_);
  speaker_->clear();
  speaker_->addItem(tr("No speaker is chosen"));
  int at = 0;
  for (const model::Speaker& speaker : speakers_) {
    speaker_->addItem(text(speaker.name));
    if (own == speaker) at = speaker_->count() - 1;
  }
  if (own && at == 0) {
    speaker_->addItem(text(own->name));
    at = speaker_->count() - 1;
  }
  speaker_->setCurrentIndex(at);
  through_->setEnabled(own.has_value());
  figures_->setEnabled(own.has_value());
  const QSignalBlocker quietStored(stored_);
  const QSignalBlocker quietThrough(through_);
  stored_->setChecked(desk_->way().stored && profile != nullptr);
  through_->setChecked(desk_->way().speaker && own.has_value());
}

void SeamReview::refreshMeasures() {
  const auto study = desk_->study();
  if (study == measured_) return;
  measured_ = study;
  showMeasures(measures_, study ? &study->report : nullptr);
  summary_->setText(study ? measuresSummary(study->report) : QString());
}

void SeamReview::refresh() {
  SeamQueueModel& queue = desk_->queue();
  const int count = queue.rowCount();
  progress_->setText(count == 0 ? tr("The set has no loop yet.")
                                : tr("%1 of %2 decided").arg(queue.decided()).arg(count));
  bar_->setRange(0, std::max(count, 1));
  bar_->setValue(queue.decided());
  const int row = desk_->row();
  if (row != selectedRow(queue_)) selectRow(queue_, row);
  const SeamRow* shown = queue.rowAt(queue.index(row, 0));
  title_->setText(shown == nullptr ? tr("No seam")
                                   : tr("%1: %2").arg(shown->name, word(shown->decision)));
  view_->show(desk_->study());
  refreshSwitches();
  refreshMeasures();
  told_->setText(!desk_->told().isEmpty() ? desk_->told()
                 : shown == nullptr       ? QString()
                 : desk_->heard()         ? tr("Heard: sign it, or mark it for rework.")
                                          : tr("Hear the seam (A), then decide."));
  again_->setEnabled(shown != nullptr);
  sign_->setEnabled(desk_->heard());
  work_->setEnabled(desk_->heard());
  next_->setEnabled(shown != nullptr);
  compare_->setEnabled(desk_->canCompare());
  first_->setEnabled(desk_->isChoosing());
  second_->setEnabled(desk_->isChoosing());
  take_->setEnabled(desk_->canTakeChosen());
  back_->setEnabled(count > 1);
  on_->setEnabled(count > 1);
}

}  // namespace fourbeat::ui
