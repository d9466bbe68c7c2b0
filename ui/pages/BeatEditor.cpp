// SPDX-License-Identifier: GPL-3.0-or-later
#include "BeatEditor.h"

#include "Fields.h"
#include "Theme.h"
#include "TrackBar.h"
#include "Wording.h"
#include "Workspace.h"
#include "views/SpeedStrip.h"
#include "views/TrackView.h"

#include "fourbeat/base/speed_units.h"

#include <QCheckBox>
#include <QComboBox>
#include <QHBoxLayout>
#include <QLabel>
#include <QLocale>
#include <QPushButton>
#include <QShortcut>
#include <QSignalBlocker>
#include <QVBoxLayout>
#include <algorithm>
#include <cmath>

namespace fourbeat::ui {

namespace {

constexpr int mostTracks = 24;  ///< tracks kept, so that an undo shows the former one at once
constexpr int nudge_ms = 500;   ///< moves by keys that follow one another so soon are one
constexpr int handSet = -1;     ///< spans of corrections have ids below 0

bool isHandSet(const model::Mark& mark) {
  return static_cast<int>(mark.kind) >= model::first_hand_set_kind;
}

QString figure(double value, int decimals) {
  return QLocale().toString(value, 'f', decimals);
}

}  // namespace

BeatEditor::BeatEditor(Workspace& workspace, QWidget* parent)
    : QWidget(parent),
      workspace_(workspace),
      track_(new TrackView(this)),
      strip_(new SpeedStrip(*track_, this)),
      summary_(makeNote(this, tr("Beats in short"))),
      speed_(new QLabel(this)),
      source_(new QCheckBox(tr("Cut chuffs from this take"), this)),
      effort_(new QComboBox(this)) {
  auto* column = new QVBoxLayout(this);
  column->setContentsMargins(0, Theme::tight, 0, 0);
  column->setSpacing(Theme::tight);
  auto* head = new QHBoxLayout;
  head->setSpacing(Theme::wide);
  head->addWidget(summary_, 1);
  head->addWidget(source_);
  head->addWidget(new TrackBar(*track_, this));
  column->addLayout(head);
  track_->setAccessibleName(tr("The take, with its beats"));
  track_->setEmptyText(tr("Choose a take on the left to see its beats."));
  column->addWidget(track_, 1);
  column->addWidget(strip_);
  makeButtons();
  speed_->setFont(Theme::instance().figureFont());
  speed_->setAccessibleName(tr("Speed at the playhead"));
  column->addWidget(speed_);
  source_->setAccessibleName(source_->text());
  source_->setToolTip(
      tr("Takes from the line's side are left out by themselves: an engine that "
         "passes sounds higher coming and lower going"));
  makeKeys();

  connect(source_, &QCheckBox::clicked, this, [this](bool on) {
    const model::Take* shown = model::find(workspace_.project(), take_);
    if (shown == nullptr) return;
    model::Take changed = *shown;
    changed.chuff_source = on;
    workspace_.perform(on ? tr("Cut chuffs from take") : tr("Leave take out of the chuffs"),
                       {model::Replace<model::Take>{changed}});
  });
  connect(track_, &TrackView::spanMoved, this, &BeatEditor::beatMoved);
  connect(track_, &TrackView::selectionChanged, this, &BeatEditor::refreshButtons);
  connect(track_, &TrackView::playheadPlaced, this, [this](FrameIndex frame) {
    showSpeedAt(frame);
    strip_->update();
    Transport& transport = workspace_.transport();
    if (transport.isPlaying() && transport.request().key == playKey()) transport.seek(frame);
  });
  connect(&workspace.transport(), &Transport::positionChanged, this, [this](FrameIndex frame) {
    if (!take_.is_set() || workspace_.transport().request().key != playKey()) return;
    track_->setPlayhead(frame);
    showSpeedAt(frame);
    strip_->update();
  });
  connect(&workspace.document(), &Document::changed, this, [this] {
    if (nudged_.isActive()) {  // something else was done meanwhile
      nudged_.stop();
      moving_.reset();
    }
    refresh();
  });
  nudged_.setSingleShot(true);
  nudged_.setInterval(nudge_ms);
  connect(&nudged_, &QTimer::timeout, this, &BeatEditor::endNudge);
  refresh();
}

void BeatEditor::makeButtons() {
  auto* row = new QHBoxLayout;
  row->setSpacing(Theme::tight);
  const auto add = [&](const char* icon, const QString& words, const QString& tip, auto act) {
    QPushButton* button = makeButton(this, QLatin1String(icon), words, tip);
    connect(button, &QPushButton::clicked, this, act);
    row->addWidget(button);
    return button;
  };
  atPlayhead_ = {add("add", tr("Insert beat"), tr("A beat at the playhead (Insert)"),
                     [this] { insertBeat(); }),
                 add("remove", tr("Delete beat"),
                     tr("What was taken for a beat at the playhead is none (Delete)"),
                     [this] { deleteBeat(); })};
  onStretch_ = {
      add("", tr("Halve"), tr("Every other beat of the selection is none (Ctrl+D)"),
          [this] { halveBeats(); }),
      add("", tr("Double"), tr("One more beat between each two of the selection (Ctrl+Shift+D)"),
          [this] { doubleBeats(); }),
      add("search", tr("Track between"),
          tr("Pin beats at both ends of the selection and track anew between (Ctrl+K)"),
          [this] { retrackBetween(); })};
  revolution_ = add("chuffs", tr("First of the turn"),
                    tr("The beat at the playhead is the first of the revolution; a selection is "
                       "one revolution (Ctrl+G)"),
                    [this] { setRevolution(); });
  effort_->setAccessibleName(tr("Effort of the selection"));
  effort_->addItem(tr("Set effort …"));
  for (const model::Effort effort :
       {model::Effort::drifting, model::Effort::easy, model::Effort::hard}) {
    effort_->addItem(word(effort), static_cast<int>(effort));
  }
  connect(effort_, &QComboBox::activated, this, [this](int index) {
    if (index > 0) setEffort(static_cast<model::Effort>(effort_->itemData(index).toInt()));
    effort_->setCurrentIndex(0);
  });
  row->addWidget(effort_);
  clear_ = add("undo", tr("As tracked"),
               tr("Take away what was set by hand in the selection, or in the whole take"),
               [this] { clearCorrections(); });
  row->addStretch(1);
  static_cast<QVBoxLayout*>(layout())->addLayout(row);
}

void BeatEditor::makeKeys() {
  const auto key = [this](const QKeySequence& keys, auto slot) {
    auto* shortcut = new QShortcut(keys, this, nullptr, nullptr, Qt::WidgetWithChildrenShortcut);
    connect(shortcut, &QShortcut::activated, this, slot);
  };
  key(Qt::Key_Insert, [this] { insertBeat(); });
  key(Qt::Key_Delete, [this] { deleteBeat(); });
  const auto nudge = [&](Qt::Modifiers modifiers, double seconds) {
    for (const auto& [arrow, way] : {std::pair{Qt::Key_Left, -1}, std::pair{Qt::Key_Right, 1}}) {
      key(QKeyCombination(modifiers, arrow), [this, way = way, seconds] {
        const auto frames = std::max<std::int64_t>(1, std::llround(seconds * rateHz()));
        nudgeBeat(FrameCount(way * frames));
      });
    }
  };
  nudge(Qt::ALT, 0.001);
  nudge(Qt::ALT | Qt::SHIFT, 0.0);  // by a frame
  key(QKeyCombination(Qt::CTRL, Qt::Key_D), [this] { halveBeats(); });
  key(QKeyCombination(Qt::CTRL | Qt::SHIFT, Qt::Key_D), [this] { doubleBeats(); });
  key(QKeyCombination(Qt::CTRL, Qt::Key_K), [this] { retrackBetween(); });
  key(QKeyCombination(Qt::CTRL, Qt::Key_G), [this] { setRevolution(); });
}

void BeatEditor::setTake(Id<model::Take> take) {
  if (take == take_) return;
  if (nudged_.isActive()) endNudge();
  take_ = take;
  moving_.reset();
  track_->setSelection(std::nullopt);
  track_->setTake(workspace_.media().of(take));
  QStringList names;
  if (const model::Take* shown = model::find(workspace_.project(), take)) {
    for (const std::string& position : shown->microphones)
      names << text(position);
  }
  track_->setChannelNames(names);
  refresh();
}

double BeatEditor::rateHz() const {
  const model::Take* shown = model::find(workspace_.project(), take_);
  return shown != nullptr ? std::max(1, shown->sample_rate_hz) : 1.0;
}

std::optional<FrameRange> BeatEditor::selection() const {
  const std::optional<FrameRange> selected = track_->selection();
  return selected && !selected->empty() ? selected : std::nullopt;
}

QString BeatEditor::playKey() const {
  return QStringLiteral("beats/%1").arg(take_.value());
}

/// Everything that the beats of the take depend on.
QString BeatEditor::stateKey() const {
  const model::Project& project = workspace_.project();
  const model::Take* shown = model::find(project, take_);
  if (shown == nullptr) return {};
  const model::Engine& engine = project.engine;
  QString key = QStringLiteral("%1/%2/%3/%4/%5/%6")
                    .arg(text(shown->sha256))
                    .arg(work::chuff_channel(*shown))
                    .arg(engine.driver_diameter_mm)
                    .arg(engine.beats_per_rev)
                    .arg(engine.top_speed_kmh)
                    .arg(shown->chuff_source ? static_cast<int>(*shown->chuff_source) : -1);
  for (const double angle : engine.beat_angles_deg)
    key += QStringLiteral("/%1").arg(angle);
  if (engine.effort) {
    const model::EffortCalibration& parts = *engine.effort;
    key += QStringLiteral("/%1/%2/%3/%4/%5/%6")
               .arg(parts.drifting_below_db.value_or(-999))
               .arg(parts.hard_from_db.value_or(-999))
               .arg(parts.drifting_below_share.value_or(-1))
               .arg(parts.hard_from_share.value_or(-1))
               .arg(parts.drifting_below_m_s2)
               .arg(parts.hard_from_m_s2);
  }
  for (const model::Mark& mark : project.marks) {
    if (mark.take != take_ || !isHandSet(mark)) continue;
    key += QStringLiteral("/%1:%2-%3:%4:%5:%6")
               .arg(static_cast<int>(mark.kind))
               .arg(mark.range.start.value())
               .arg(mark.range.end.value())
               .arg(mark.to_frame ? mark.to_frame->value() : -1)
               .arg(mark.beats.value_or(-1))
               .arg(mark.effort ? static_cast<int>(*mark.effort) : -1);
  }
  return key;
}

void BeatEditor::showEvent(QShowEvent* event) {
  QWidget::showEvent(event);
  if (!tracked_) lookForBeats();
}

void BeatEditor::hideEvent(QHideEvent* event) {
  if (nudged_.isActive()) endNudge();
  QWidget::hideEvent(event);
}

void BeatEditor::lookForBeats() {
  const model::Take* shown = model::find(workspace_.project(), take_);
  if (shown == nullptr || !isVisible()) return;
  summary_->setText(tracked_ ? tr("Tracking again …") : tr("Finding the beats …"));
  workspace_.jobs().run<Tracked>(
      tr("Finding beats in %1").arg(text(shown->path)), this,
      [snapshot = workspace_.document().snapshot(), folder = workspace_.document().folder(),
       take = take_](JobControl& job) -> Result<Tracked> {
        Result<work::TrackedTake> found = work::track_take(*snapshot, folder, take, job);
        if (!found) return found.error();
        std::vector<work::TrackedTake> one;
        one.push_back(std::move(*found));
        work::judge_takes(*snapshot, one);
        return std::make_shared<const work::TrackedTake>(std::move(one.front()));
      },
      [this, key = stateKey()](Result<Tracked> found) {
        if (!found) {
          summary_->setText(found.error().code == ErrorCode::cancelled
                                ? tr("Not looked for: the search was stopped.")
                                : errorLine(found.error()));
          return;
        }
        if (known_.size() >= mostTracks) known_.clear();
        known_.insert(key, *found);
        refresh();
      },
      QStringLiteral("beats of take"));
}

void BeatEditor::refresh() {
  const Tracked now = known_.value(stateKey());
  // While the beats are looked for again, those of before stay in view.
  if (now || !take_.is_set() || (tracked_ && tracked_->take != take_)) tracked_ = now;
  if (!now && take_.is_set()) {
    if (tracked_ && tracked_->take != take_) tracked_.reset();
    lookForBeats();
  }
  refreshSpans();
  refreshStrip();
  refreshWords();
  refreshButtons();
}

void BeatEditor::refreshSpans() {
  std::vector<TrackSpan> spans;
  for (const model::Mark& mark : workspace_.project().marks) {
    if (mark.take != take_) continue;
    const bool unusable = mark.kind == model::MarkKind::unusable;
    spans.push_back({unusable ? TrackSpan::Kind::unusable : TrackSpan::Kind::mark, mark.range,
                     mark.label.empty() ? word(mark.kind) : text(mark.label),
                     handSet - mark.id.value(), false});
  }
  if (tracked_) {
    for (const dsp::Beat& beat : tracked_->track.beats) {
      const qint64 id = beat.frame.value();
      const FrameIndex at = moving_ && moving_->first == id ? moving_->second : beat.frame;
      spans.push_back({TrackSpan::Kind::beat,
                       {at, at},
                       beat.position ? QString::number(*beat.position + 1) : QString(),
                       id,
                       true});
    }
  }
  track_->setSpans(std::move(spans));
}

void BeatEditor::refreshStrip() {
  if (!tracked_) {
    strip_->show({}, {}, 0.0);
    return;
  }
  std::vector<SpeedStrip::EffortSpan> efforts;
  const std::vector<dsp::Beat>& beats = tracked_->track.beats;
  constexpr double apart_s = 4.0;  // beats farther apart are of two stretches
  for (std::size_t i = 0; i < beats.size() && i < tracked_->efforts.size(); ++i) {
    const double from = beats[i].time_s;
    const bool joins = i + 1 < beats.size() && beats[i + 1].time_s - from < apart_s;
    const double to = joins ? beats[i + 1].time_s : from;
    if (!efforts.empty() && efforts.back().effort == tracked_->efforts[i] &&
        efforts.back().to_s >= from) {
      efforts.back().to_s = to;
    } else {
      efforts.push_back({from, to, tracked_->efforts[i]});
    }
  }
  strip_->show(tracked_->speed, std::move(efforts), rateHz());
}

void BeatEditor::refreshWords() {
  const QSignalBlocker quiet(source_);
  source_->setEnabled(tracked_ != nullptr);
  source_->setChecked(tracked_ && tracked_->chuff_source);
  if (!take_.is_set()) summary_->clear();
  if (tracked_ && known_.value(stateKey()) == tracked_) {
    const dsp::BeatTrack& found = tracked_->track;
    QString line =
        found.beats.empty()
            ? tr("No beats were heard in this take.")
            : (found.stretches.size() == 1 ? tr("%1 beats in one stretch.").arg(found.beats.size())
                                           : tr("%1 beats in %2 stretches.")
                                                 .arg(found.beats.size())
                                                 .arg(found.stretches.size()));
    if (const auto fused = std::count_if(found.stretches.begin(), found.stretches.end(),
                                         [](const dsp::BeatStretch& each) { return each.fused; });
        fused > 0) {
      line += QLatin1Char(' ') + tr("Beats fuse in %1 of them.").arg(fused);
    }
    if (tracked_->pass_by) {
      line += QLatin1Char(' ') + tr("Heard from the line's side: it passes at %1, at %2.")
                                     .arg(timeText(tracked_->pass_by->time_s),
                                          speedText(tracked_->pass_by->speed_kmh));
    }
    if (!tracked_->idle_marks.empty()) {
      line += QLatin1Char(' ') +
              tr("Corrections that find no beat any more: %1.").arg(tracked_->idle_marks.size());
    }
    summary_->setText(line);
  }
  showSpeedAt(track_->playhead());
}

void BeatEditor::refreshButtons() {
  const bool there = tracked_ != nullptr;
  const bool selected = selection().has_value();
  for (QPushButton* button : atPlayhead_)
    button->setEnabled(there);
  for (QPushButton* button : onStretch_)
    button->setEnabled(there && selected);
  revolution_->setEnabled(there);
  effort_->setEnabled(there && selected);
  const auto& marks = workspace_.project().marks;
  clear_->setEnabled(there && std::any_of(marks.begin(), marks.end(), [this](const auto& mark) {
                       return mark.take == take_ && isHandSet(mark);
                     }));
}

void BeatEditor::showSpeedAt(FrameIndex frame) {
  if (!tracked_) {
    speed_->clear();
    return;
  }
  const auto point = tracked_->speed.at(static_cast<double>(frame.value()) / rateHz());
  if (!point || !point->speed_kmh) {
    speed_->setText(tr("At the playhead: no beats"));
    return;
  }
  speed_->setText(tr("At the playhead: %1 ± %2 km/h (%3 mph), %4 m/s²")
                      .arg(figure(*point->speed_kmh, 1),
                           figure(point->speed_sd_kmh.value_or(0.0), 1),
                           figure(mph_of_kmh(*point->speed_kmh), 1),
                           figure(point->acceleration_m_s2.value_or(0.0), 2)));
}

void BeatEditor::perform(const QString& what, const Act& act) {
  if (nudged_.isActive()) endNudge();
  if (!isCurrent()) return;
  const work::BeatEdits edits = act(*tracked_);
  if (!edits) {
    workspace_.tell(edits.error());
    return;
  }
  if (!edits->empty()) workspace_.perform(what, *edits);
}

bool BeatEditor::isCurrent() {
  if (!tracked_) return false;
  if (known_.value(stateKey()) == tracked_) return true;
  workspace_.tell(tr("The beats are being tracked again: try once that is done."), false);
  return false;
}

void BeatEditor::nudgeBeat(FrameCount by) {
  if (!nudged_.isActive()) {
    if (!isCurrent() || tracked_->track.beats.empty()) return;
    const std::vector<dsp::Beat>& beats = tracked_->track.beats;
    const auto away = [place = track_->playhead()](const dsp::Beat& beat) {
      return std::abs((beat.frame - place).value());
    };
    const auto nearest =
        std::min_element(beats.begin(), beats.end(),
                         [&](const dsp::Beat& a, const dsp::Beat& b) { return away(a) < away(b); });
    moving_ = {nearest->frame.value(), nearest->frame};
  }
  moving_->second = moving_->second + by;
  nudged_.start();
  track_->setPlayhead(moving_->second);
  refreshSpans();
}

void BeatEditor::endNudge() {
  nudged_.stop();
  const auto [id, place] = *moving_;
  beatMoved(id, {place, place}, true);
}

void BeatEditor::insertBeat() {
  perform(tr("Insert beat"), [this](const work::TrackedTake& tracked) {
    return work::insert_beat(workspace_.project(), tracked, track_->playhead());
  });
}

void BeatEditor::deleteBeat() {
  perform(tr("Delete beat"), [this](const work::TrackedTake& tracked) {
    return work::delete_beat(workspace_.project(), tracked, track_->playhead());
  });
}

void BeatEditor::beatMoved(qint64 id, FrameRange range, bool finished) {
  if (id < 0) return;  // a correction's own mark
  if (!finished) {
    moving_ = {id, range.start};
    refreshSpans();
    return;
  }
  moving_.reset();
  if (range.start != FrameIndex(id)) {
    perform(tr("Move beat"), [&](const work::TrackedTake& tracked) {
      return work::move_beat(workspace_.project(), tracked, FrameIndex(id), range.start);
    });
  }
  refreshSpans();
}

void BeatEditor::halveBeats() {
  const std::optional<FrameRange> range = selection();
  if (!range) return;
  perform(tr("Halve beats"), [&](const work::TrackedTake& tracked) {
    return work::halve_beats(workspace_.project(), tracked, *range);
  });
}

void BeatEditor::doubleBeats() {
  const std::optional<FrameRange> range = selection();
  if (!range) return;
  perform(tr("Double beats"), [&](const work::TrackedTake& tracked) {
    return work::double_beats(workspace_.project(), tracked, *range);
  });
}

void BeatEditor::setRevolution() {
  const FrameRange range = selection().value_or(FrameRange{track_->playhead(), track_->playhead()});
  perform(tr("Say where a revolution begins"), [&](const work::TrackedTake& tracked) {
    return work::set_revolution(workspace_.project(), tracked, range);
  });
}

void BeatEditor::retrackBetween() {
  const std::optional<FrameRange> range = selection();
  if (!range) return;
  perform(tr("Track between"), [&](const work::TrackedTake& tracked) {
    return work::retrack_between(workspace_.project(), tracked, range->start, range->end);
  });
}

void BeatEditor::setEffort(model::Effort effort) {
  const std::optional<FrameRange> range = selection();
  if (!range) return;
  perform(tr("Set effort"), [&](const work::TrackedTake& tracked) {
    return work::set_effort(workspace_.project(), tracked, *range, effort);
  });
}

void BeatEditor::clearCorrections() {
  const model::Take* shown = model::find(workspace_.project(), take_);
  if (shown == nullptr) return;
  const FrameRange range =
      selection().value_or(FrameRange{FrameIndex(0), FrameIndex(0) + shown->frames});
  perform(tr("Beats as tracked"), [&](const work::TrackedTake& tracked) {
    return work::clear_hand_set(workspace_.project(), tracked, range);
  });
}

void BeatEditor::play() {
  const std::shared_ptr<TakeMedia>& media = track_->take();
  if (!media || !take_.is_set()) return;
  PlayRequest request;
  request.source = TakeSource{media->path(), media->info(), track_->gains()};
  request.place(track_->playhead(), selection());
  request.repeat = workspace_.transport().repeats();
  request.title = pathText(media->path().filename());
  request.key = playKey();
  workspace_.transport().play(request);
}

}  // namespace fourbeat::ui
