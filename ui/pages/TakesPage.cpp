// SPDX-License-Identifier: GPL-3.0-or-later
#include "TakesPage.h"

#include "BeatPanel.h"
#include "Fields.h"
#include "MarkPanel.h"
#include "PassPanel.h"
#include "TakeReportPanel.h"
#include "Theme.h"
#include "TrackBar.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/TakeListModel.h"
#include "views/TrackView.h"

#include "fourbeat/store/takes.h"
#include "fourbeat/work/add_takes.h"
#include "fourbeat/work/segments.h"

#include <QDragEnterEvent>
#include <QFileDialog>
#include <QLabel>
#include <QMimeData>
#include <QPushButton>
#include <QShortcut>
#include <QSplitter>
#include <QStackedWidget>
#include <QTabWidget>
#include <QTableView>
#include <QVBoxLayout>
#include <utility>

namespace fourbeat::ui {

namespace {

/// What a span of the track stands for; ids of the track are 4 × id + what.
enum Span : qint64 { markSpan, segmentSpan, beatSpan, spanKinds };
static_assert(spanKinds <= 4);

}  // namespace

TakesPage::TakesPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, parent),
      model_(new TakeListModel(workspace, this)),
      table_(new QTableView(this)),
      track_(new TrackView(this)),
      tabs_(new QTabWidget(this)),
      report_(new TakeReportPanel(workspace, this)),
      marks_(new MarkPanel(workspace, *track_, this)),
      beats_(new BeatPanel(workspace, this)),
      pass_(new PassPanel(workspace, this)) {
  questions_.files = [this] {
    return QFileDialog::getOpenFileNames(
        this, tr("Add recordings"), pathText(this->workspace().document().folder()),
        tr("Recordings (*.wav *.bwf *.rf64 *.w64 *.flac *.aif *.aiff *.aifc *.caf *.ogg *.oga);;"
           "All files (*)"));
  };
  questions_.folder = [this] {
    return QFileDialog::getExistingDirectory(this, tr("Where are the takes now?"),
                                             pathText(this->workspace().document().folder()));
  };
  setAcceptDrops(true);
  makeLayout();
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          &TakesPage::takeChosen);
  connect(model_, &QAbstractItemModel::rowsRemoved, this, &TakesPage::takeChosen);
  connect(track_, &TrackView::spanMoved, this, &TakesPage::spanMoved);
  connect(track_, &TrackView::spanActivated, this, &TakesPage::spanActivated);
  connect(track_, &TrackView::playheadPlaced, this, [this](FrameIndex frame) {
    beats_->showSpeedAt(frame);
    Transport& transport = this->workspace().transport();
    if (transport.isPlaying() && transport.request().key == playKey()) transport.seek(frame);
  });
  connect(track_, &TrackView::gainsChanged, this, [this] {
    Transport& transport = this->workspace().transport();
    if (transport.request().key == playKey()) transport.setGains(track_->gains());
  });
  connect(&workspace.transport(), &Transport::positionChanged, this, [this](FrameIndex frame) {
    if (!take_.is_set() || this->workspace().transport().request().key != playKey()) return;
    track_->setPlayhead(frame);
    beats_->showSpeedAt(frame);
  });
  connect(beats_, &BeatPanel::trackChanged, this, &TakesPage::refreshSpans);
  connect(&workspace.document(), &Document::changed, this, &TakesPage::refresh);
  connect(&workspace.live(), &LiveCheck::updated, this, &TakesPage::refresh);
  refresh();
}

void TakesPage::makeLayout() {
  auto* whole = new QVBoxLayout(this);
  whole->setContentsMargins(0, 0, 0, 0);
  stack_ = new QStackedWidget(this);
  whole->addWidget(stack_);

  auto* empty = new QWidget(stack_);
  auto* middle = new QVBoxLayout(empty);
  middle->addStretch(2);
  auto* title = new QLabel(tr("No takes yet"), empty);
  title->setFont(Theme::instance().titleFont());
  title->setAlignment(Qt::AlignCenter);
  middle->addWidget(title);
  auto* words = new QLabel(tr("Drop recordings or whole folders here. They stay where they are and "
                              "are never written to."),
                           empty);
  words->setAlignment(Qt::AlignCenter);
  words->setWordWrap(true);
  middle->addWidget(words);
  auto* first = makeButton(empty, QStringLiteral("add"), tr("Add recordings …"),
                           tr("Add recordings to the project"));
  makePrimary(first, QStringLiteral("add"));
  middle->addSpacing(Theme::gap);
  middle->addWidget(first, 0, Qt::AlignHCenter);
  middle->addStretch(3);
  stack_->addWidget(empty);

  auto* page = new QWidget(stack_);
  auto* column = new QVBoxLayout(page);
  column->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  column->setSpacing(Theme::gap);
  auto* bar = new QHBoxLayout;
  bar->setSpacing(Theme::gap);
  auto* add = makeButton(page, QStringLiteral("add"), tr("Add …"),
                         tr("Add recordings to the project (Insert)"));
  add->setObjectName(QStringLiteral("add take"));
  add->setShortcut(Qt::Key_Insert);
  remove_ = makeButton(page, QStringLiteral("remove"), tr("Remove"),
                       tr("Take the chosen take out of the project; its file stays (Delete)"));
  relink_ = makeButton(page, QStringLiteral("folder"), tr("Relink …"),
                       tr("Look through a folder for takes that are missing or have moved"));
  for (QPushButton* button : {add, remove_, relink_})
    bar->addWidget(button);
  bar->addStretch(1);
  bar->addWidget(new TrackBar(*track_, page));
  column->addLayout(bar);
  auto* splitter = new QSplitter(Qt::Vertical, page);
  splitter->setChildrenCollapsible(false);
  table_->setModel(model_);
  setUpTable(table_, tr("Takes"), TakeListModel::nameColumn);
  table_->setMinimumHeight(80);
  splitter->addWidget(table_);
  track_->setEmptyText(tr("Choose a take above."));
  track_->setAccessibleName(tr("The take"));
  track_->setMinimumHeight(160);
  splitter->addWidget(track_);
  tabs_->setAccessibleName(tr("About the take"));
  tabs_->setDocumentMode(true);
  tabs_->addTab(report_, tr("Channels and report"));
  tabs_->addTab(marks_, tr("Marks"));
  tabs_->addTab(beats_, tr("Engine and beats"));
  tabs_->addTab(pass_, tr("Pass and rights"));
  splitter->addWidget(tabs_);
  splitter->setStretchFactor(0, 2);
  splitter->setStretchFactor(1, 4);
  splitter->setStretchFactor(2, 0);
  splitter->setSizes({165, 265, 165});
  column->addWidget(splitter, 1);
  stack_->addWidget(page);
  setFocusProxy(table_);

  const auto askFiles = [this] { addFiles(questions_.files()); };
  connect(first, &QPushButton::clicked, this, askFiles);
  connect(add, &QPushButton::clicked, this, askFiles);
  connect(remove_, &QPushButton::clicked, this, &TakesPage::removeTake);
  connect(relink_, &QPushButton::clicked, this, &TakesPage::relink);
  auto* erase = new QShortcut(QKeySequence::Delete, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(erase, &QShortcut::activated, this, &TakesPage::removeTake);
  auto* mark = new QShortcut(Qt::Key_M, this, nullptr, nullptr, Qt::WindowShortcut);
  connect(mark, &QShortcut::activated, this, [this] {
    tabs_->setCurrentWidget(marks_);
    marks_->addMark();
  });
  auto* find = new QShortcut(Qt::CTRL | Qt::Key_B, this, nullptr, nullptr, Qt::WindowShortcut);
  connect(find, &QShortcut::activated, this, [this] {
    tabs_->setCurrentWidget(beats_);
    beats_->findBeats();
  });
}

void TakesPage::addFiles(const QStringList& paths) {
  if (paths.isEmpty()) return;
  std::vector<std::filesystem::path> named;
  for (const QString& path : paths)
    named.push_back(textPath(path));
  workspace().jobs().run<work::DescribedTakes>(
      tr("Adding recordings"), this,
      [named, snapshot = workspace().document().snapshot(),
       folder = workspace().document().folder()](JobControl& job) -> Result<work::DescribedTakes> {
        const Result<std::vector<std::filesystem::path>> files = work::recordings_below(named, job);
        if (!files) return files.error();
        return work::describe_takes(*snapshot, folder, *files, {}, job);
      },
      [this](Result<work::DescribedTakes> described) {
        if (!described) {
          workspace().tell(described.error());
          return;
        }
        const Result<work::AddedTakes> added = work::edits_to_add(
            workspace().project(), workspace().document().folder(), described->takes, "");
        if (!added) {
          workspace().tell(added.error());
          return;
        }
        const auto count = static_cast<int>(added->takes.size());
        if (count > 0) {
          const QString what = count == 1 ? tr("Add take") : tr("Add %1 takes").arg(count);
          if (!workspace().perform(what, added->edits)) return;
          choose(added->takes.front().id);
        }
        if (!described->refused.empty()) {
          QString line = errorLine(described->refused.front());
          if (const auto more = described->refused.size() - 1; more > 0) {
            line += tr(" (and %1 more that could not be added)").arg(more);
          }
          workspace().tell(line);
        } else if (count == 0) {
          workspace().tell(described->already.empty()
                               ? tr("There are no recordings in what was dropped.")
                               : tr("All of these are takes of the project already."),
                           false);
        }
      });
}

void TakesPage::choose(Id<model::Take> take) {
  selectRow(table_, model_->rowOf(take.value()));
}

void TakesPage::takeChosen() {
  const Id<model::Take> now(model_->idAt(selectedRow(table_)));
  if (now == take_ && now.is_set() == (track_->take() != nullptr)) return;
  take_ = now;
  track_->setTake(workspace().media().of(take_));
  track_->setSelection(std::nullopt);
  report_->setTake(take_);
  marks_->setTake(take_);
  beats_->setTake(take_);
  pass_->setTake(take_);
  refresh();
}

void TakesPage::refresh() {
  const model::Project& project = workspace().project();
  stack_->setCurrentIndex(project.takes.empty() ? 0 : 1);
  if (!project.takes.empty() && selectedRow(table_) < 0) selectRow(table_, 0);
  const model::Take* take = model::find(project, take_);
  QStringList names;
  if (take != nullptr) {
    for (const std::string& position : take->microphones)
      names << text(position);
  }
  track_->setChannelNames(names);
  remove_->setEnabled(take != nullptr);
  relink_->setEnabled(model_->anyAmiss());
  refreshSpans();
  refreshNeed();
}

void TakesPage::refreshSpans() {
  const model::Project& project = workspace().project();
  std::vector<TrackSpan> spans;
  for (const model::Mark& mark : project.marks) {
    if (mark.take != take_) continue;
    const bool unusable = mark.kind == model::MarkKind::unusable;
    spans.push_back({unusable ? TrackSpan::Kind::unusable : TrackSpan::Kind::mark, mark.range,
                     mark.label.empty() ? word(mark.kind) : text(mark.label),
                     mark.id.value() * 4 + markSpan, true});
  }
  for (const model::Segment& segment : project.segments) {
    if (segment.source.mix.empty() || segment.source.mix.front().take != take_) continue;
    spans.push_back({TrackSpan::Kind::segment, work::on_take(project, take_, segment.range),
                     text(segment.name), segment.id.value() * 4 + segmentSpan, false});
  }
  if (const auto beats = beats_->track()) {
    qint64 number = 0;
    for (const dsp::Beat& beat : beats->beats) {
      spans.push_back({TrackSpan::Kind::beat,
                       {beat.frame, beat.frame},
                       beat.position ? QString::number(*beat.position + 1) : QString(),
                       ++number * 4 + beatSpan,
                       false});
    }
  }
  track_->setSpans(std::move(spans));
}

void TakesPage::refreshNeed() {
  const model::Project& project = workspace().project();
  if (project.takes.empty()) {
    setNeed(tr("Drop recordings here, or press Add."));
  } else if (model_->anyAmiss()) {
    setNeed(
        tr("Some takes are not where they were. Press Relink and name the folder they are in."));
  } else if (const bool named =
                 std::any_of(project.takes.begin(), project.takes.end(),
                             [](const model::Take& take) {
                               return std::any_of(
                                   take.microphones.begin(), take.microphones.end(),
                                   [](const std::string& position) { return !position.empty(); });
                             });
             !named) {
    setNeed(tr("Say where the microphones stood, under Channels and report."));
  } else {
    setNeed(tr("Mark what is worth keeping (M), then cut it on the Segments page."));
  }
}

void TakesPage::removeTake() {
  if (!take_.is_set()) return;
  workspace().perform(tr("Remove take"), work::edits_to_remove_take(workspace().project(), take_));
}

void TakesPage::relink() {
  const QString folder = questions_.folder();
  if (folder.isEmpty()) return;
  workspace().jobs().run<std::vector<model::Edit>>(
      tr("Looking for takes"), this,
      [snapshot = workspace().document().snapshot(), own = workspace().document().folder(),
       where = textPath(folder)](JobControl& job) {
        return store::relink(*snapshot, own, where, job);
      },
      [this](Result<std::vector<model::Edit>> edits) {
        if (!edits) {
          workspace().tell(edits.error());
          return;
        }
        if (edits->empty()) {
          workspace().tell(tr("None of the missing takes are in that folder."));
          return;
        }
        if (!workspace().perform(tr("Relink takes"), *edits)) return;
        workspace().media().refresh();
        track_->setTake(workspace().media().of(take_));
      },
      QStringLiteral("relink"));
}

void TakesPage::spanMoved(qint64 id, FrameRange range, bool finished) {
  const model::Mark* mark = model::find(workspace().project(), Id<model::Mark>(id / 4));
  if (id % 4 != markSpan || mark == nullptr) return;
  model::Mark moved = *mark;
  moved.range = range;
  if (moved != *mark) {
    workspace().perform(tr("Move mark"), {model::Replace<model::Mark>{moved}},
                        QStringLiteral("mark/%1").arg(id));
  }
  if (finished) workspace().document().endMerge();
}

void TakesPage::spanActivated(qint64 id) {
  if (id % 4 == markSpan) {
    tabs_->setCurrentWidget(marks_);
    marks_->choose(Id<model::Mark>(id / 4));
  } else if (id % 4 == segmentSpan) {
    const auto& segments = workspace().project().segments;
    for (std::size_t i = 0; i < segments.size(); ++i) {
      if (segments[i].id.value() == id / 4) {
        workspace().reveal(QStringLiteral("/segments/%1").arg(i));
      }
    }
  }
}

QString TakesPage::playKey() const {
  return QStringLiteral("take/%1").arg(take_.value());
}

void TakesPage::playRequested() {
  const std::shared_ptr<TakeMedia>& media = track_->take();
  if (!media || !take_.is_set()) return;
  PlayRequest request;
  request.source = TakeSource{media->path(), media->info(), track_->gains()};
  request.place(track_->playhead(), track_->selection());
  request.repeat = workspace().transport().repeats();
  request.title = pathText(media->path().filename());
  request.key = playKey();
  workspace().transport().play(request);
}

bool TakesPage::shows(const QString& pointer) const {
  for (const char* list : {"/takes", "/marks", "/passes", "/engine"}) {
    const QLatin1String place(list);
    if (pointer == place || pointer.startsWith(QString(place) + QLatin1Char('/'))) return true;
  }
  return false;
}

void TakesPage::reveal(const QString& pointer) {
  const model::Project& project = workspace().project();
  if (const auto take = placeIn(pointer, QStringLiteral("/takes"))) {
    if (*take < model_->rowCount()) choose(project.takes[static_cast<std::size_t>(*take)].id);
    if (pointer.contains(QStringLiteral("/microphones"))) tabs_->setCurrentWidget(report_);
  } else if (const auto mark = placeIn(pointer, QStringLiteral("/marks"))) {
    if (static_cast<std::size_t>(*mark) >= project.marks.size()) return;
    const model::Mark& shown = project.marks[static_cast<std::size_t>(*mark)];
    choose(shown.take);
    tabs_->setCurrentWidget(marks_);
    marks_->choose(shown.id);
  } else if (const auto pass = placeIn(pointer, QStringLiteral("/passes"))) {
    if (static_cast<std::size_t>(*pass) >= project.passes.size()) return;
    const model::Pass& shown = project.passes[static_cast<std::size_t>(*pass)];
    if (!shown.takes.empty()) choose(shown.takes.front().take);
    tabs_->setCurrentWidget(pass_);
  } else if (pointer.startsWith(QStringLiteral("/engine"))) {
    tabs_->setCurrentWidget(beats_);
  }
}

void TakesPage::entered() {
  refresh();
}

void TakesPage::dragEnterEvent(QDragEnterEvent* event) {
  if (event->mimeData()->hasUrls()) event->acceptProposedAction();
}

void TakesPage::dropEvent(QDropEvent* event) {
  QStringList files;
  for (const QUrl& url : event->mimeData()->urls()) {
    if (url.isLocalFile()) files.append(url.toLocalFile());
  }
  // A project dropped here is the window's to open.
  if (files.isEmpty() ||
      (files.size() == 1 && files.first().endsWith(QStringLiteral(".fourbeat")))) {
    event->ignore();
    return;
  }
  event->acceptProposedAction();
  addFiles(files);
}

}  // namespace fourbeat::ui
