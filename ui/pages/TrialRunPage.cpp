// SPDX-License-Identifier: GPL-3.0-or-later
#include "TrialRunPage.h"

#include "Fields.h"
#include "HandDrive.h"
#include "PageParts.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/DriveEventModel.h"
#include "models/RunChart.h"
#include "views/DriveTimeline.h"

#include "fourbeat/base/files.h"
#include "fourbeat/work/produce.h"

#include <QCheckBox>
#include <QComboBox>
#include <QFileDialog>
#include <QGridLayout>
#include <QHBoxLayout>
#include <QHeaderView>
#include <QItemSelectionModel>
#include <QLocale>
#include <QSplitter>
#include <QStackedWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::ui {

namespace {
/// How far from the engine's own the beats a turn may be before it is told.
constexpr double beatsOff = 0.005;
}  // namespace

TrialRunPage::TrialRunPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, parent), events_(new DriveEventModel(this)) {
  questions_.openFile = [this](const QString& title, const QString& folder) {
    return QFileDialog::getOpenFileName(this, title, folder, tr("Run cards (*.json)"));
  };
  questions_.cardsInTheWay = [this](const QStringList& files) { return askAboutCards(files); };
  questions_.saveFile = [this](const QString& title, const QString& suggestion,
                               const QString& filter) {
    return QFileDialog::getSaveFileName(this, title, suggestion, filter);
  };
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::margin, Theme::margin, Theme::margin, Theme::margin);
  column->setSpacing(Theme::gap);
  column->addWidget(makeBar());
  column->addWidget(makeDriveBar());
  split_ = new QSplitter(Qt::Horizontal, this);
  shown_ = new QSplitter(Qt::Horizontal, this);
  shown_->addWidget(makeDrawing());
  shown_->addWidget(makeEvents());
  shown_->setChildrenCollapsible(false);
  split_->addWidget(shown_);
  split_->setChildrenCollapsible(false);
  column->addWidget(split_, 1);
  connect(timeline_, &DriveTimeline::playheadPlaced, this,
          [this](double time_s) { place(time_s); });
  connect(&workspace.transport(), &Transport::positionChanged, this, [this](FrameIndex frame) {
    if (!events_->hasRun() || this->workspace().transport().request().key != playKey()) return;
    timeline_->setPlayhead(static_cast<double>(frame.value()) / run_->output.sample_rate_hz, true);
    here_->setText(timeline_->chart()->line(timeline_->playhead()));
  });
  connect(&workspace.document(), &Document::changed, this, &TrialRunPage::refresh);
  setUpDriving();
  fillCards();
  connect(&cards_, &QFileSystemWatcher::fileChanged, this, [this](const QString& file) {
    watchCards();  // an editor that saves by renaming leaves another file under the name
    if (run_ && file == pathText(this->workspace().document().folder() / textPath(runCard_))) {
      cardChanged_ = true;
    }
    this->workspace().live().refresh();
    refresh();
  });
  refresh();
}

TrialRunPage::~TrialRunPage() = default;

QWidget* TrialRunPage::makeDrawing() {
  stack_ = new QStackedWidget(this);
  auto* drawing = new QWidget(stack_);
  auto* column = new QVBoxLayout(drawing);
  column->setContentsMargins(0, 0, Theme::gap, 0);
  timeline_ = new DriveTimeline(drawing);
  timeline_->setEmptyText(
      tr("Render a run card to see regulator, speed, effort, state and what sounds, along one "
         "time axis."));
  here_ = makeLabel(drawing, {}, "muted");
  here_->setAccessibleName(tr("At the playhead"));
  column->addWidget(timeline_, 1);
  column->addWidget(here_);
  stack_->addWidget(drawing);

  auto* none = new QWidget(stack_);
  auto* middle = new QVBoxLayout(none);
  middle->setSpacing(Theme::wide);
  middle->addStretch(1);
  QLabel* words = makeLabel(
      none,
      tr("No run card yet. The standard cards are made for this set: to top speed and back, "
         "shunting, twenty stops, every key. Or drive by hand and record it."),
      "muted");
  words->setAlignment(Qt::AlignCenter);
  middle->addWidget(words);
  QPushButton* add = makeButton(none, QStringLiteral("add"), tr("Add the stan&dard cards"),
                                tr("Write the run cards that every set should be driven by"));
  makePrimary(add, QStringLiteral("add"));
  connect(add, &QPushButton::clicked, this, [this] { addStandardCards(); });
  middle->addWidget(add, 0, Qt::AlignHCenter);
  middle->addStretch(2);
  stack_->addWidget(none);
  return stack_;
}

QWidget* TrialRunPage::makeBar() {
  auto* panel = new QWidget(this);
  auto* row = new QHBoxLayout(panel);
  row->setContentsMargins(0, 0, 0, 0);
  auto* label = new QLabel(tr("Run &card"), panel);
  card_ = new QComboBox(panel);
  card_->setAccessibleName(tr("Run card"));
  card_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  card_->setMinimumContentsLength(20);
  label->setBuddy(card_);
  connect(card_, &QComboBox::activated, this, &TrialRunPage::refresh);
  row->addWidget(label);
  row->addWidget(card_, 1);
  row->addWidget(makeButton(this, QStringLiteral("add"), tr("&Add …"),
                            tr("Add a run card that is there already"), [this] {
                              addCard(questions_.openFile(
                                  tr("Add run card"), pathText(workspace().document().folder())));
                            }));
  row->addWidget(makeButton(this, QStringLiteral("new"), tr("&New …"),
                            tr("Write a small run card to start from"), [this] { newCard(); }));
  QPushButton* standard =
      makeButton(this, QStringLiteral("add"), tr("&Standard"),
                 tr("Add the run cards that every set should be driven by, made for this one"),
                 [this] { addStandardCards(); });
  standard->setAccessibleName(tr("Standard cards"));
  row->addWidget(standard);
  remove_ =
      makeButton(this, QStringLiteral("remove"), tr("Re&move"),
                 tr("Take this card off the set's list; its file stays"), [this] { removeCard(); });
  render_ = makeButton(
      this, {}, tr("&Render"), tr("Fit the set and drive it by this card"), [this] { render(); },
      QKeySequence(Qt::CTRL | Qt::Key_Return), this);
  makePrimary(render_);
  play_ = makeButton(this, QStringLiteral("play"), tr("Pla&y"), tr("Play the run (space bar)"),
                     [this] { playRequested(); });
  export_ = makeButton(this, QStringLiteral("export"), tr("E&xport …"),
                       tr("Write the run as WAV, with its log beside it"), [this] { exportRun(); });
  for (QPushButton* button : {remove_, render_, play_, export_})
    row->addWidget(button);
  return panel;
}

QWidget* TrialRunPage::makeEvents() {
  auto* panel = new QWidget(this);
  auto* column = new QVBoxLayout(panel);
  column->setContentsMargins(Theme::gap, 0, 0, 0);
  column->setSpacing(Theme::gap);
  auto* grid = new QGridLayout;
  grid->setHorizontalSpacing(Theme::wide);
  grid->setVerticalSpacing(Theme::tight);
  constexpr int boxesInRow = 3;
  const auto add = [&](DriveEventModel::Kind kind, const QString& label) {
    auto* box = new QCheckBox(label, panel);
    box->setAccessibleName(tr("Show events: %1").arg(label));
    box->setChecked(events_->kinds().testFlag(kind));
    connect(box, &QCheckBox::toggled, this, [this, kind](bool on) {
      DriveEventModel::Kinds kinds = events_->kinds();
      kinds.setFlag(kind, on);
      events_->setKinds(kinds);
    });
    grid->addWidget(box, grid->count() / boxesInRow, grid->count() % boxesInRow);
  };
  add(DriveEventModel::states, tr("States"));
  add(DriveEventModel::keys, tr("Keys"));
  add(DriveEventModel::voices, tr("Voices"));
  add(DriveEventModel::beats, tr("Beats"));
  add(DriveEventModel::cvs, tr("CVs"));
  add(DriveEventModel::speeds, tr("Speed"));
  grid->setColumnStretch(boxesInRow, 1);
  list_ = new QTableView(panel);
  list_->setModel(events_);
  setUpTable(list_, tr("What happened in the run"));
  list_->setEditTriggers(QAbstractItemView::NoEditTriggers);
  list_->setHorizontalScrollBarPolicy(Qt::ScrollBarAlwaysOff);  // what is cut off is in the tip
  const int letter = list_->fontMetrics().averageCharWidth();
  list_->setColumnWidth(DriveEventModel::timeColumn, letter * 9);
  list_->setColumnWidth(DriveEventModel::kindColumn, letter * 9);
  connect(list_->selectionModel(), &QItemSelectionModel::currentRowChanged, this,
          [this](const QModelIndex& now) {
            if (now.isValid()) place(now.data(DriveEventModel::secondsRole).toDouble());
          });
  column->addLayout(grid);
  column->addWidget(list_, 1);
  return panel;
}

bool TrialRunPage::isStale() const {
  return run_ && (cardChanged_ || runRevision_ != workspace().document().revision() ||
                  runCard_ != card_->currentData().toString());
}

QString TrialRunPage::runLine(const char*& role) const {
  if (rendering_) return tr("Rendering …");
  if (!run_) return tr("Not rendered yet.");
  const drive::DriveOutput& output = run_->output;
  QString line = tr("%1; at most %2 voices of %3; true peak %4.")
                     .arg(timeText(static_cast<double>(output.mix.size()) / output.sample_rate_hz))
                     .arg(output.voices_peak)
                     .arg(run_->profile.voices)
                     .arg(truePeakText(output.true_peak_dbtp));
  if (output.true_peak_dbtp.value_or(0.0) > 0.0) {
    line +=
        QLatin1Char(' ') +
        tr("At %1 the mix goes over full scale: it is cut off.").arg(timeText(output.true_peak_s));
    role = "warning";
  }
  if (output.voices_wanted_peak > run_->profile.voices)
    line += QLatin1Char(' ') + tr("%1 voices were wanted at once.").arg(output.voices_wanted_peak);
  const int even = workspace().project().engine.beats_per_rev;
  if (output.beats_per_turn && std::abs(*output.beats_per_turn - even) > beatsOff) {
    line += QLatin1Char(' ') + tr("%1 beats a turn of the wheel instead of %2.")
                                   .arg(QLocale().toString(*output.beats_per_turn, 'f', 2))
                                   .arg(even);
  }
  if (!isStale()) return line;
  role = "warning";
  return tr("Stale: this run is of “%1” before the last changes. Render again. %2")
      .arg(runCard_ == sweep ? tr("the sweep") : runCard_, line);
}

void TrialRunPage::refresh() {
  fillCards();
  const bool listed = card_->currentData().toString() != sweep;
  const bool none = workspace().project().run_cards.empty();
  remove_->setEnabled(listed);
  render_->setEnabled(!rendering_ && !hand_->isDriving());
  refreshDriving();
  play_->setEnabled(run_ != nullptr);
  export_->setEnabled(run_ != nullptr);
  stack_->setCurrentIndex(none && !rendering_ && !timeline_->chart() ? 1 : 0);
  const char* role = "muted";
  const QString driven = drivenLine();
  state_->setText(driven.isEmpty() ? runLine(role) : driven);
  setRole(state_, role);
  if (hand_->isDriving()) {
    setNeed(
        tr("Up and down move the regulator, Escape stops at once; keys are pressed as listed."));
  } else if (workspace().project().decoder.empty()) {
    setNeed(tr("Choose a decoder on the Fit page first: the set is driven within its limits."));
  } else if (none) {
    setNeed(tr("Add a run card: the fit weighs each sound by how long it sounds in the cards."));
  } else if (!run_ || isStale()) {
    setNeed(tr("Render the card and listen to the whole run."));
  } else {
    setNeed(tr("Listen to the whole run; the list says why each sound starts and ends."));
  }
}

void TrialRunPage::render() {
  const QString card = card_->currentData().toString();
  rendering_ = true;
  refresh();
  workspace().jobs().run<work::TrialRun>(
      tr("Rendering the trial run"), this,
      [project = workspace().document().snapshot(), folder = workspace().document().folder(),
       card](JobControl& job) -> Result<work::TrialRun> {
        Result<model::RunCard> read = card == sweep
                                          ? Result<model::RunCard>(work::sweep_card(*project))
                                          : work::load_listed_card(folder, utf8(card));
        if (!read) return read.error();
        return work::trial_run(*project, folder, *read, false, job);
      },
      [this, card, revision = workspace().document().revision()](Result<work::TrialRun> run) {
        rendering_ = false;
        if (run) {
          showRun(std::move(*run), card, revision);
        } else {
          playWhenReady_ = false;
          workspace().tell(run.error());
        }
        refresh();
      },
      QStringLiteral("trial run"));
}

void TrialRunPage::showRun(work::TrialRun run, const QString& card, quint64 revision) {
  run_ = std::make_shared<const work::TrialRun>(std::move(run));
  auto mix = std::make_shared<audio::Clip>();
  mix->sample_rate_hz = run_->output.sample_rate_hz;
  mix->samples = run_->output.mix;
  mix_ = std::move(mix);
  runCard_ = card;
  runRevision_ = revision;
  cardChanged_ = false;
  drawRun();
  if (std::exchange(playWhenReady_, false)) play(timeline_->playhead());
}

void TrialRunPage::drawRun() {
  const QStringList names = keyNamesOf(workspace().project());
  events_->setRun(run_, names);
  drawn_ = nullptr;
  timeline_->setChart(chartOf(*run_, names));
  here_->setText(timeline_->chart()->line(timeline_->playhead()));
}

QString TrialRunPage::playKey() const {
  return QStringLiteral("trial/") + runCard_;
}

void TrialRunPage::play(double from_s) {
  if (!mix_) return;
  if (!events_->hasRun()) {  // a drive by hand was drawn since
    drawRun();
    refresh();
  }
  const auto frameAt = [&](double time_s) {
    return FrameIndex(std::llround(time_s * mix_->sample_rate_hz));
  };
  std::optional<FrameRange> selected;
  if (const auto& stretch = timeline_->selection())
    selected = FrameRange{frameAt(stretch->start), frameAt(stretch->end)};
  PlayRequest request;
  request.source = ClipSource{mix_, false};
  request.place(frameAt(from_s), selected);
  request.title = tr("Trial run");
  request.key = playKey();
  workspace().transport().play(request);
}

void TrialRunPage::playRequested() {
  if (run_ && !isStale()) return play(timeline_->playhead());
  playWhenReady_ = true;
  render();
}

void TrialRunPage::place(double time_s) {
  if (!timeline_->chart() || hand_->isDriving()) return;
  timeline_->setPlayhead(time_s, true);
  here_->setText(timeline_->chart()->line(time_s));
  const Transport& transport = workspace().transport();
  if (events_->hasRun() && transport.isPlaying() && transport.request().key == playKey())
    workspace().transport().seek(FrameIndex(std::llround(time_s * run_->output.sample_rate_hz)));
}

void TrialRunPage::exportRun() {
  if (!run_) return;
  const QString wav = questions_.saveFile(tr("Export the run"),
                                          pathText(workspace().document().folder() / "run.wav"),
                                          tr("WAV files (*.wav)"));
  if (wav.isEmpty()) return;
  workspace().jobs().run<QString>(
      tr("Writing the run"), this,
      [project = workspace().document().snapshot(), folder = workspace().document().folder(),
       run = run_, path = textPath(wav)](JobControl& job) -> Result<QString> {
        std::filesystem::path log = path;
        log.replace_extension(".json");
        const Status wrote = work::write_drive(*project, folder, run->output, path, log, job);
        if (!wrote) return wrote.error();
        return pathText(path);
      },
      [this](Result<QString> wrote) {
        if (wrote) {
          workspace().tell(tr("The run and its log are written: %1").arg(*wrote), false);
        } else {
          workspace().tell(wrote.error());
        }
      });
}

bool TrialRunPage::shows(const QString& pointer) const {
  return pointer.startsWith(QLatin1String("/run_cards"));
}

void TrialRunPage::reveal(const QString& pointer) {
  const int place = pointer.section(QLatin1Char('/'), 2, 2).toInt();
  if (place < card_->count()) card_->setCurrentIndex(place);
  card_->setFocus();
  refresh();
}

}  // namespace fourbeat::ui
