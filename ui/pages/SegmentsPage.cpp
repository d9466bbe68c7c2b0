// SPDX-License-Identifier: GPL-3.0-or-later
#include "SegmentsPage.h"

#include "Fields.h"
#include "LoopPanel.h"
#include "SegmentPanel.h"
#include "SegmentTable.h"
#include "SoundPanel.h"
#include "Theme.h"
#include "TrackBar.h"
#include "Wording.h"
#include "Workspace.h"
#include "models/SegmentListModel.h"
#include "views/TrackView.h"

#include "fourbeat/work/chuff_builder.h"
#include "fourbeat/work/segments.h"

#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QPushButton>
#include <QShortcut>
#include <QSignalBlocker>
#include <QSplitter>
#include <QTabWidget>
#include <QVBoxLayout>

namespace fourbeat::ui {

namespace {

/// A frame of the take as one of the segment's clip; before 0 or past the end where it is outside.
FrameIndex inSegment(FrameIndex ofTake, const FrameRange& segment) {
  return FrameIndex(0) + (ofTake - segment.start);
}

}  // namespace

SegmentsPage::SegmentsPage(Workspace& workspace, QWidget* parent)
    : Page(workspace, parent),
      model_(new SegmentListModel(workspace, this)),
      table_(new SegmentTable(workspace, this)),
      takes_(new QComboBox(this)),
      channel_(new QComboBox(this)),
      name_(makeLine(this, tr("Name of the next segment"))),
      cut_(makeButton(this, QStringLiteral("segments"), tr("Cut"),
                      tr("Cut the selection into a new segment (Insert)"))),
      remove_(makeButton(this, QStringLiteral("remove"), tr("Remove"),
                         tr("Remove the chosen segment; the take stays (Delete)"))),
      track_(new TrackView(this)),
      tabs_(new QTabWidget(this)),
      panel_(new SegmentPanel(workspace, *track_, this)),
      loops_(new LoopPanel(workspace, *track_, this)),
      sounds_(new SoundPanel(workspace, this)) {
  makeLayout();
  makeKeys();
  connect(table_->selectionModel(), &QItemSelectionModel::selectionChanged, this,
          &SegmentsPage::segmentChosen);
  connect(model_, &QAbstractItemModel::rowsRemoved, this, &SegmentsPage::segmentChosen);
  connect(takes_, &QComboBox::activated, this,
          [this] { showTake(Id<model::Take>(takes_->currentData().toLongLong())); });
  connect(cut_, &QPushButton::clicked, this, &SegmentsPage::cut);
  connect(remove_, &QPushButton::clicked, this, &SegmentsPage::removeSegment);
  connect(track_, &TrackView::selectionChanged, this, &SegmentsPage::refreshNeed);
  connect(track_, &TrackView::trimMoved, this, &SegmentsPage::trimMoved);
  connect(track_, &TrackView::loopMoved, this, &SegmentsPage::loopMoved);
  connect(track_, &TrackView::spanActivated, this,
          [this](qint64 id) { choose(Id<model::Segment>(id)); });
  connect(track_, &TrackView::gainsChanged, this, [this] {
    Transport& transport = this->workspace().transport();
    if (transport.request().key == takeKey()) transport.setGains(track_->gains());
  });
  connect(track_, &TrackView::playheadPlaced, this, &SegmentsPage::seek);
  connect(&workspace.transport(), &Transport::positionChanged, this, &SegmentsPage::follow);
  connect(&workspace.document(), &Document::changed, this, &SegmentsPage::refresh);
  refresh();
}

void SegmentsPage::makeLayout() {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(Theme::gap, Theme::gap, Theme::gap, Theme::gap);
  column->setSpacing(Theme::gap);
  auto* bar = new QHBoxLayout;
  bar->setSpacing(Theme::gap);
  const auto field = [&](const QString& words, QWidget* widget, int stretch) {
    auto* label = new QLabel(words, this);
    label->setBuddy(widget);
    label->setMinimumWidth(label->sizeHint().width() + Theme::tight);  // the mnemonic's line too
    bar->addWidget(label);
    bar->addWidget(widget, stretch);
  };
  takes_->setAccessibleName(tr("Take to cut from"));
  takes_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  takes_->setMinimumContentsLength(9);
  channel_->setAccessibleName(tr("Channel to cut from"));
  channel_->setSizeAdjustPolicy(QComboBox::AdjustToMinimumContentsLengthWithIcon);
  channel_->setMinimumContentsLength(8);
  name_->setPlaceholderText(tr("New segment"));
  field(tr("&Take"), takes_, 2);
  field(tr("&Channel"), channel_, 1);
  field(tr("&Name"), name_, 2);
  bar->addWidget(cut_);
  bar->addWidget(remove_);
  bar->addWidget(new TrackBar(*track_, this));
  column->addLayout(bar);
  auto* splitter = new QSplitter(Qt::Vertical, this);
  splitter->setChildrenCollapsible(false);
  table_->setModel(model_);
  setUpTable(table_, tr("Segments"), SegmentListModel::nameColumn);
  table_->setToolTip(tr("Double click or F2 to change name and gain; drag a segment out as a WAV"));
  table_->setItemDelegateForColumn(SegmentListModel::gainColumn,
                                   new NumberDelegate({-60, 40, 1, 0.5, tr(" dB")}, this));
  table_->setMinimumHeight(80);
  splitter->addWidget(table_);
  track_->setEmptyText(tr("Choose a segment above, or a take to cut one from."));
  track_->setAccessibleName(tr("The take, with the segment"));
  track_->setMinimumHeight(150);
  splitter->addWidget(track_);
  tabs_->setAccessibleName(tr("About the segment"));
  tabs_->setDocumentMode(true);
  tabs_->addTab(panel_, tr("Edges, mix and cleaning"));
  tabs_->addTab(loops_, tr("Loop"));
  tabs_->addTab(sounds_, tr("Sounds"));
  splitter->addWidget(tabs_);
  splitter->setStretchFactor(0, 2);
  splitter->setStretchFactor(1, 3);
  splitter->setStretchFactor(2, 0);
  splitter->setSizes({160, 240, 200});
  column->addWidget(splitter, 1);
  setFocusProxy(table_);
}

void SegmentsPage::makeKeys() {
  const auto key = [this](const QKeySequence& keys, auto slot) {
    auto* shortcut = new QShortcut(keys, this, nullptr, nullptr, Qt::WindowShortcut);
    connect(shortcut, &QShortcut::activated, this, slot);
  };
  key(Qt::Key_Insert, [this] { cut(); });
  key(Qt::CTRL | Qt::Key_T, [this] { panel_->trimToSelection(); });
  key(Qt::CTRL | Qt::Key_L, [this] {
    tabs_->setCurrentWidget(loops_);
    loops_->findLoops();
  });
  key(Qt::CTRL | Qt::Key_Return, [this] { loops_->hearLoop(); });
  key(Qt::SHIFT | Qt::Key_Return, [this] { loops_->hearSeam(); });
  key(Qt::CTRL | Qt::SHIFT | Qt::Key_Return, [this] { loops_->signSeam(); });
  auto* erase = new QShortcut(QKeySequence::Delete, table_, nullptr, nullptr, Qt::WidgetShortcut);
  connect(erase, &QShortcut::activated, this, &SegmentsPage::removeSegment);
}

const model::Segment* SegmentsPage::segment() const {
  return model::find(workspace().project(), segment_);
}

void SegmentsPage::choose(Id<model::Segment> segment) {
  selectRow(table_, model_->rowOf(segment.value()));
}

void SegmentsPage::showTake(Id<model::Take> take) {
  selectRow(table_, -1);
  putTakeOnTrack(take);
  refresh();
}

void SegmentsPage::segmentChosen() {
  const Id<model::Segment> now(model_->idAt(selectedRow(table_)));
  if (now == segment_) return;
  segment_ = now;
  panel_->setSegment(segment_);
  loops_->setSegment(segment_);
  sounds_->setSegment(segment_);
  if (const model::Segment* shown = segment(); shown != nullptr && !shown->source.mix.empty()) {
    putTakeOnTrack(shown->source.mix.front().take);
    refresh();
    track_->showRange(work::on_take(workspace().project(), take_, shown->range));
  } else {
    refresh();
  }
}

void SegmentsPage::putTakeOnTrack(Id<model::Take> id) {
  if (id == take_ && track_->take() != nullptr) return;
  take_ = id;
  track_->setSelection(std::nullopt);
  track_->setTake(workspace().media().of(id));
  const QSignalBlocker quiet(channel_);
  channel_->clear();
  QStringList names;
  if (const model::Take* take = model::find(workspace().project(), id)) {
    for (int channel = 1; channel <= take->channels; ++channel) {
      const auto place = static_cast<std::size_t>(channel - 1);
      const QString position =
          place < take->microphones.size() ? text(take->microphones[place]) : QString();
      names << position;
      channel_->addItem(position.isEmpty() ? tr("Channel %1").arg(channel)
                                           : tr("%1, %2").arg(channel).arg(position),
                        channel);
    }
    channel_->setCurrentIndex(channel_->findData(work::chuff_channel(*take)));
  }
  track_->setChannelNames(names);
}

void SegmentsPage::refreshTakes() {
  const model::Project& project = workspace().project();
  QStringList names;
  for (const model::Take& take : project.takes)
    names << pathText(textPath(text(take.path)).filename());
  bool same = names.size() == takes_->count();
  for (int i = 0; same && i < takes_->count(); ++i) {
    same =
        takes_->itemText(i) == names[i] &&
        takes_->itemData(i).toLongLong() == project.takes[static_cast<std::size_t>(i)].id.value();
  }
  const QSignalBlocker quiet(takes_);
  if (!same) {
    takes_->clear();
    for (int i = 0; i < names.size(); ++i) {
      takes_->addItem(
          names[i], static_cast<qlonglong>(project.takes[static_cast<std::size_t>(i)].id.value()));
    }
  }
  if (model::find(project, take_) == nullptr) {
    putTakeOnTrack(project.takes.empty() ? Id<model::Take>() : project.takes.front().id);
  }
  takes_->setCurrentIndex(takes_->findData(static_cast<qlonglong>(take_.value())));
}

void SegmentsPage::refresh() {
  refreshTakes();
  refreshTrack();
  refreshNeed();
  remove_->setEnabled(segment() != nullptr);
}

void SegmentsPage::refreshTrack() {
  const model::Project& project = workspace().project();
  const model::Segment* shown = segment();
  std::vector<TrackSpan> spans;
  for (const model::Segment& each : project.segments) {
    const bool here = std::any_of(each.source.mix.begin(), each.source.mix.end(),
                                  [this](const auto& input) { return input.take == take_; });
    if (!here) continue;
    spans.push_back({TrackSpan::Kind::segment, work::on_take(project, take_, each.range),
                     text(each.name), each.id.value(), false});
  }
  for (const model::Mark& mark : project.marks) {
    if (mark.take != take_) continue;
    const bool unusable = mark.kind == model::MarkKind::unusable;
    spans.push_back({unusable ? TrackSpan::Kind::unusable : TrackSpan::Kind::mark, mark.range,
                     mark.label.empty() ? word(mark.kind) : text(mark.label), -mark.id.value(),
                     false});
  }
  track_->setSpans(std::move(spans));
  if (shown == nullptr) {
    track_->setTrim(std::nullopt);
    track_->setLoop(std::nullopt);
    return;
  }
  track_->setTrim(TrackTrim{work::on_take(project, take_, shown->range), shown->fade_in_frames,
                            shown->fade_out_frames});
  track_->setLoop(
      shown->loop ? std::optional(TrackLoop{work::on_take(project, take_, shown->loop->range),
                                            shown->loop->crossfade_frames,
                                            shown->loop->crossfade_at == model::CrossfadeAt::start})
                  : std::nullopt);
}

void SegmentsPage::refreshNeed() {
  const std::optional<FrameRange> selection = track_->selection();
  const bool selected = selection && !selection->empty();
  cut_->setEnabled(selected && take_.is_set());
  const model::Project& project = workspace().project();
  const bool sounds = !project.sounds.empty();
  if (project.takes.empty()) {
    setNeed(tr("Segments are cut from takes: add recordings on the Takes page first."));
  } else if (selected && segment() == nullptr) {
    setNeed(tr("Give it a name and press Cut, or press Space to hear the selection."));
  } else if (project.segments.empty()) {
    setNeed(tr("Choose a take, select a stretch of it, and press Cut."));
  } else if (!work::holds_without_loop(project).empty()) {
    setNeed(tr("A held sound lacks its loop: choose its segment and press Find loops."));
  } else if (!sounds) {
    setNeed(tr("Make a sound from the chosen segment, under Sounds."));
  } else {
    setNeed(tr("Space plays the segment, Ctrl+Return its loop, Shift+Return the seam."));
  }
}

void SegmentsPage::cut() {
  const std::optional<FrameRange> selection = track_->selection();
  if (!selection || selection->empty() || !take_.is_set()) return;
  const QString typed = name_->text().trimmed();
  const QString name =
      typed.isEmpty() ? tr("Segment %1").arg(workspace().project().segments.size() + 1) : typed;
  const Result<model::Segment> segment = work::cut_segment(
      workspace().project(), take_, channel_->currentData().toInt(), *selection, utf8(name));
  if (!segment) {
    workspace().tell(segment.error());
    return;
  }
  if (!workspace().perform(tr("Cut segment"),
                           {model::Add<model::Segment>{*segment, std::nullopt}})) {
    return;
  }
  name_->clear();
  track_->setSelection(std::nullopt);
  choose(model::last_drawn<model::Segment>(workspace().project()));
}

void SegmentsPage::removeSegment() {
  if (segment() == nullptr) return;
  workspace().perform(tr("Remove segment"),
                      work::edits_to_remove_segment(workspace().project(), segment_));
}

void SegmentsPage::trimMoved(const TrackTrim& trim, bool finished) {
  const model::Segment* shown = segment();
  if (shown == nullptr) return;
  model::Segment changed = *shown;
  changed.range = work::on_pass(workspace().project(), take_, trim.range);
  changed.fade_in_frames = trim.fadeIn;
  changed.fade_out_frames = trim.fadeOut;
  if (changed != *shown) {
    workspace().perform(tr("Trim segment"), {model::Replace<model::Segment>{changed}},
                        QStringLiteral("segment/%1/trim").arg(segment_.value()));
  }
  if (finished) workspace().document().endMerge();
}

void SegmentsPage::loopMoved(const TrackLoop& loop, bool finished) {
  const model::Segment* shown = segment();
  if (shown == nullptr || !shown->loop) return;
  model::Loop changed = *shown->loop;
  changed.range = work::on_pass(workspace().project(), take_, loop.range);
  changed.crossfade_frames = loop.crossfade;
  changed.crossfade_at =
      loop.crossfadeAtStart ? model::CrossfadeAt::start : model::CrossfadeAt::end;
  if (changed != *shown->loop) {
    workspace().perform(tr("Move loop"), {model::SetLoop{segment_, changed}},
                        QStringLiteral("segment/%1/loop").arg(segment_.value()));
  }
  if (finished) workspace().document().endMerge();
}

void SegmentsPage::playRequested() {
  const std::optional<FrameRange> selection = track_->selection();
  if (segment() == nullptr || (selection && !selection->empty())) {
    playTake();
  } else {
    playSegment();
  }
}

void SegmentsPage::playTake() {
  const std::shared_ptr<TakeMedia>& media = track_->take();
  if (!media || !take_.is_set()) return;
  PlayRequest request;
  request.source = TakeSource{media->path(), media->info(), track_->gains()};
  request.place(track_->playhead(), track_->selection());
  request.repeat = workspace().transport().repeats();
  request.title = pathText(media->path().filename());
  request.key = takeKey();
  workspace().transport().play(request);
}

void SegmentsPage::playSegment() {
  const model::Segment* shown = segment();
  const FrameRange range = work::on_take(workspace().project(), take_, shown->range);
  using Answer = std::shared_ptr<const audio::Clip>;
  workspace().jobs().run<Answer>(
      tr("Rendering %1").arg(text(shown->name)), this,
      [snapshot = workspace().document().snapshot(), folder = workspace().document().folder(),
       heard = *shown](JobControl& job) -> Result<Answer> {
        Result<audio::Clip> clip = work::render_segment(*snapshot, folder, heard, job);
        if (!clip) return clip.error();
        return std::make_shared<const audio::Clip>(std::move(*clip));
      },
      [this, key = segmentKey(), title = text(shown->name),
       from = inSegment(track_->playhead(), range)](Result<Answer> clip) {
        if (!clip) {
          workspace().tell(clip.error());
          return;
        }
        PlayRequest request;
        request.source = ClipSource{std::move(*clip), false};
        request.from = from;
        request.repeat = workspace().transport().repeats();
        request.title = title;
        request.key = key;
        workspace().transport().play(request);
      },
      QStringLiteral("hear"), JobKind::heard);
}

QString SegmentsPage::takeKey() const {
  return QStringLiteral("cut/%1").arg(take_.value());
}

QString SegmentsPage::segmentKey() const {
  return QStringLiteral("segment/%1").arg(segment_.value());
}

void SegmentsPage::follow(FrameIndex played) {
  const QString& key = workspace().transport().request().key;
  const model::Segment* shown = segment();
  if (take_.is_set() && key == takeKey()) {
    track_->setPlayhead(played);
  } else if (shown != nullptr && key == QStringLiteral("seam/%1").arg(segment_.value())) {
    if (const auto place = loops_->placeAboutSeam(played))
      track_->setPlayhead(work::on_take(workspace().project(), take_, {*place, *place}).start);
  } else if (shown != nullptr && key == segmentKey()) {
    const FrameRange range = work::on_take(workspace().project(), take_, shown->range);
    track_->setPlayhead(range.start + (played - FrameIndex(0)));
  }
}

void SegmentsPage::seek(FrameIndex placed) {
  Transport& transport = workspace().transport();
  const model::Segment* shown = segment();
  if (!transport.isPlaying()) return;
  if (take_.is_set() && transport.request().key == takeKey()) {
    transport.seek(placed);
  } else if (shown != nullptr && transport.request().key == segmentKey()) {
    const FrameRange range = work::on_take(workspace().project(), take_, shown->range);
    if (range.contains({placed, placed})) transport.seek(inSegment(placed, range));
  }
}

bool SegmentsPage::shows(const QString& pointer) const {
  return pointer == QStringLiteral("/segments") || pointer == QStringLiteral("/sounds") ||
         pointer.startsWith(QStringLiteral("/segments/")) ||
         pointer.startsWith(QStringLiteral("/sounds/"));
}

void SegmentsPage::reveal(const QString& pointer) {
  const model::Project& project = workspace().project();
  if (const auto place = placeIn(pointer, QStringLiteral("/segments"))) {
    if (static_cast<std::size_t>(*place) >= project.segments.size()) return;
    choose(project.segments[static_cast<std::size_t>(*place)].id);
    tabs_->setCurrentWidget(pointer.contains(QStringLiteral("/loop"))
                                ? static_cast<QWidget*>(loops_)
                                : static_cast<QWidget*>(panel_));
  } else if (pointer.startsWith(QStringLiteral("/sounds"))) {
    tabs_->setCurrentWidget(sounds_);
    const auto sound = placeIn(pointer, QStringLiteral("/sounds"));
    if (sound && static_cast<std::size_t>(*sound) < project.sounds.size()) {
      sounds_->choose(project.sounds[static_cast<std::size_t>(*sound)].id);
    }
  }
}

void SegmentsPage::entered() {
  refresh();
  const bool selected = track_->selection() && !track_->selection()->empty();
  if (segment() == nullptr && !selected && model_->rowCount() > 0) selectRow(table_, 0);
}

}  // namespace fourbeat::ui
