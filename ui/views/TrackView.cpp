// SPDX-License-Identifier: GPL-3.0-or-later
#include "TrackView.h"

#include "SamplePages.h"
#include "Theme.h"
#include "TrackState.h"
#include "Wording.h"

#include <QAccessible>
#include <QCoreApplication>
#include <QEvent>
#include <QHelpEvent>
#include <QKeyEvent>
#include <QLabel>
#include <QMouseEvent>
#include <QPainter>
#include <QScrollBar>
#include <QTimerEvent>
#include <QToolButton>
#include <QToolTip>
#include <QWheelEvent>
#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace fourbeat::ui {

namespace {

constexpr int axisWidth = 40;           ///< of the labels left of the lanes
constexpr double closestPixels = 40.0;  ///< of one frame, at the closest

}  // namespace

size_t qHash(const TileKey& key, size_t seed) {
  return qHashMulti(seed, key.index, key.framesPerPixel, key.heightZoom, key.channel, key.height,
                    key.spectrum, key.linear, key.exact);
}

TrackView::State::State(TrackView& owner) : view(owner), tiles(qsizetype{192} * 1024) {
  QObject::connect(&spareMaker, &QTimer::timeout, &spareMaker, [this] { makeSpare(); });
}

// --- Layout and zoom ---------------------------------------------------------------------------

void TrackView::State::layOut() {
  constexpr int rim = 2;  // room for the focus ring
  const QRect inside = view.rect().adjusted(rim, rim, -rim, -rim);
  const int left = inside.left() + headWidth;
  const int lanesTop = [&] {
    const int rulerHeight = QFontMetrics(Theme::instance().smallFont()).height() + 8;
    overview = QRect(left, inside.top(), 0, overviewHeight);
    ruler = QRect(left, overview.bottom() + 1, 0, rulerHeight);
    band = QRect(left, ruler.bottom() + 1, 0, bandRow * ((markRow ? 1 : 0) + (pieceRow ? 1 : 0)));
    return band.top() + band.height();
  }();
  const int readoutHeight = QFontMetrics(Theme::instance().smallFont()).height() + 6;
  readout =
      QRect(inside.left(), inside.bottom() + 1 - readoutHeight, inside.width(), readoutHeight);
  const int lanesHeight = std::max(1, readout.top() - lanesTop);
  const bool overflows = channels() * leastLane > lanesHeight;
  const int barWidth = overflows ? laneBar->sizeHint().width() : 0;
  const int width = std::max(1, inside.right() + 1 - left - barWidth);
  for (QRect* area : {&overview, &ruler, &band})
    area->setWidth(width);
  lanes = QRect(left, lanesTop, width, lanesHeight);
  laneBar->setVisible(overflows);
  if (overflows) {
    laneBar->setGeometry(lanes.right() + 1, lanes.top(), barWidth, lanes.height());
    laneBar->setRange(0, channels() * leastLane - lanesHeight);
    laneBar->setPageStep(lanesHeight);
    laneBar->setSingleStep(leastLane);
  }
  scrollY = overflows ? laneBar->value() : 0;
  // The buttons stand beside the ruler, reaching up to the label of the overview.
  const int buttonHeight = std::max(unitButton->sizeHint().height(), ruler.height());
  const int buttonTop = ruler.bottom() + 1 - buttonHeight;
  const bool hasSpectrum = look != Look::waveform;
  const int half = (headWidth - 3) / 2;
  frequencyButton->setVisible(hasSpectrum);
  frequencyButton->setGeometry(inside.left() + 1, buttonTop, half, buttonHeight);
  unitButton->setGeometry(inside.left() + 1 + (hasSpectrum ? half + 1 : 0), buttonTop,
                          hasSpectrum ? half : headWidth - 3, buttonHeight);
  placeHeads();
  overviewImage = QImage();
  if (showsAll) {
    fitAll();
  } else {
    moveTo(originFrame);
  }
  view.update();
}

int TrackView::State::laneHeight() const {
  return channels() == 0 ? lanes.height() : std::max(leastLane, lanes.height() / channels());
}

QRect TrackView::State::lane(int channel) const {
  int top = channel * laneHeight();
  int bottom = top + laneHeight();
  // What is left by the division goes to the last lane.
  if (channel == channels() - 1) bottom = std::max(bottom, lanes.height());
  return {lanes.left(), lanes.top() + top - scrollY, lanes.width(), bottom - top};
}

QRect TrackView::State::waveRect(int channel) const {
  QRect area = lane(channel);
  if (look == Look::both) area.setHeight(area.height() * 2 / 5);
  return look == Look::spectrogram ? QRect() : area;
}

QRect TrackView::State::spectrumRect(int channel) const {
  QRect area = lane(channel);
  if (look == Look::both) area.setTop(area.top() + area.height() * 2 / 5);
  return look == Look::waveform ? QRect() : area;
}

void TrackView::State::rebuildHeads() {
  for (const Head& head : heads)
    delete head.widget;
  heads.clear();
  const Theme& theme = Theme::instance();
  for (int c = 0; c < channels(); ++c) {
    Head head;
    auto* box = new QWidget(&view);
    head.widget = box;
    head.name = new QLabel(box);
    head.name->setFont(theme.smallFont());
    const auto button = [&](const QString& icon) {
      auto* made = new QToolButton(box);
      made->setIcon(theme.icon(icon));
      made->setIconSize(QSize(14, 14));
      made->setCheckable(true);
      made->setFixedSize(26, 22);
      QObject::connect(made, &QToolButton::toggled, &view, [this] {
        view.update(lanes);
        Q_EMIT view.gainsChanged();
      });
      return made;
    };
    head.mute = button(QStringLiteral("mute"));
    head.solo = button(QStringLiteral("solo"));
    heads.push_back(head);
  }
  QWidget* before = frequencyButton;
  for (const Head& head : heads) {
    QWidget::setTabOrder(before, head.mute);
    QWidget::setTabOrder(head.mute, head.solo);
    before = head.solo;
  }
  nameHeads();
}

void TrackView::State::nameHeads() {
  for (int c = 0; c < static_cast<int>(heads.size()); ++c) {
    const Head& head = heads[static_cast<std::size_t>(c)];
    const QString given = c < channelNames.size() ? channelNames[c] : QString();
    const QString name = given.isEmpty() ? tr("Channel %1").arg(c + 1) : given;
    head.name->setText(
        head.name->fontMetrics().elidedText(name, Qt::ElideRight, headWidth - axisWidth - 8));
    head.name->setToolTip(tr("Channel %1: %2").arg(c + 1).arg(name));
    head.name->setAccessibleName(name);
    head.mute->setAccessibleName(tr("Mute %1").arg(name));
    head.mute->setToolTip(tr("Mute %1").arg(name));
    head.solo->setAccessibleName(tr("Solo %1").arg(name));
    head.solo->setToolTip(tr("Play %1 alone").arg(name));
  }
}

void TrackView::State::placeHeads() {
  for (int c = 0; c < static_cast<int>(heads.size()); ++c) {
    const Head& head = heads[static_cast<std::size_t>(c)];
    const QRect at = lane(c);
    const QRect box(2, at.top(), headWidth - axisWidth, at.height());
    head.widget->setGeometry(box);
    const int line = head.name->fontMetrics().height();
    head.name->setGeometry(6, 2, box.width() - 8, line);
    head.mute->move(6, line + 3);
    head.solo->move(36, line + 3);
    // A head half scrolled away would cover the ruler or the readout.
    head.widget->setVisible(box.top() >= lanes.top() - 1 &&
                            box.top() + leastLane <= readout.top() + 1);
  }
}

TimeAxis TrackView::State::axis(double pixelRatio) const {
  TimeAxis made;
  made.rateHz = rate();
  made.framesPerPixel = framesPerPixel / pixelRatio;
  made.originPixel = std::llround(originFrame / made.framesPerPixel);
  return made;
}

double TrackView::State::allFramesPerPixel() const {
  return std::max(1.0, static_cast<double>(frames())) / std::max(1, lanes.width());
}

double TrackView::State::leastFramesPerPixel() const {
  return std::min(1.0 / closestPixels, allFramesPerPixel());
}

void TrackView::State::fitAll() {
  showsAll = true;
  framesPerPixel = allFramesPerPixel();
  originFrame = 0.0;
  view.update();
  shown();
}

void TrackView::State::moveTo(double frame) {
  const double ratio = view.devicePixelRatioF();
  const double a_device = framesPerPixel / ratio;
  const qint64 before = std::llround(originFrame / a_device);
  const double most = std::max(
      0.0, std::ceil(static_cast<double>(frames()) / a_device - 1e-6) - lanes.width() * ratio);
  // By whole logical pixels, so that what is on the screen can be moved.
  const auto step = static_cast<qint64>(std::max(1.0, std::round(ratio)));
  qint64 after = std::llround(std::clamp(frame / a_device, 0.0, most));
  if (after != static_cast<qint64>(most)) after = before + (after - before) / step * step;
  originFrame = static_cast<double>(after) * a_device;
  const qint64 moved = before - after;
  if (moved == 0) return;
  if (std::fabs(static_cast<double>(moved)) < lanes.width() * ratio && moved % step == 0 &&
      std::fabs(ratio - static_cast<double>(step)) < 1e-9 && hasSound()) {
    view.scroll(static_cast<int>(moved / step), 0, lanes);
  } else {
    view.update(lanes);
  }
  view.update(overview);
  view.update(ruler);
  view.update(band);
  view.update(readout);
  shown();
}

void TrackView::State::zoomTo(double framesPerLogicalPixel, double x) {
  const double wanted =
      std::clamp(framesPerLogicalPixel, leastFramesPerPixel(), allFramesPerPixel());
  const double kept = originFrame + (x - lanes.left()) * framesPerPixel;
  const double ratio = view.devicePixelRatioF();
  if (wanted == framesPerPixel) return;
  framesPerPixel = wanted;
  showsAll = wanted == allFramesPerPixel();
  const double a_device = framesPerPixel / ratio;
  const double most = std::max(
      0.0, std::ceil(static_cast<double>(frames()) / a_device - 1e-6) - lanes.width() * ratio);
  const double origin = std::round((kept - (x - lanes.left()) * framesPerPixel) / a_device);
  originFrame = std::clamp(origin, 0.0, most) * a_device;
  view.update();
  shown();
}

void TrackView::State::shown() {
  const double zoom = axis().framesPerPixel;
  if (zoomsBefore.empty() || zoomsBefore.front() != zoom) {
    constexpr std::size_t kept = 12;
    zoomsBefore.insert(zoomsBefore.begin(), zoom);
    if (zoomsBefore.size() > kept) zoomsBefore.pop_back();
  }
  if (QAccessible::isActive()) describe();
  Q_EMIT view.shownRangeChanged();
}

FrameRange TrackView::State::shownFrames() const {
  const auto start = static_cast<qint64>(std::floor(originFrame + 1e-6));
  const auto end =
      static_cast<qint64>(std::ceil(originFrame + lanes.width() * framesPerPixel - 1e-6));
  return frame_range(std::clamp<qint64>(start, 0, frames()), std::clamp<qint64>(end, 0, frames()));
}

// --- Places ------------------------------------------------------------------------------------

FrameIndex TrackView::State::frameAt(int x) const {
  const double ratio = view.devicePixelRatioF();
  return clampFrame(axis().frameAt((x - lanes.left()) * ratio), frames());
}

double TrackView::State::xOf(FrameIndex frame) const {
  return lanes.left() + static_cast<double>(axis().xOf(frame)) / view.devicePixelRatioF();
}

int TrackView::State::channelAt(int y) const {
  if (channels() == 0) return 0;
  return std::clamp((y - lanes.top() + scrollY) / laneHeight(), 0, channels() - 1);
}

// --- Spans -------------------------------------------------------------------------------------

bool TrackView::State::inPieceRow(const TrackSpan& span) const {
  return span.kind == TrackSpan::Kind::segment || span.kind == TrackSpan::Kind::chuff;
}

void TrackView::State::takeSpans(std::vector<TrackSpan> given) {
  std::stable_sort(given.begin(), given.end(), [](const TrackSpan& a, const TrackSpan& b) {
    return a.range.start < b.range.start;
  });
  spans = std::move(given);
  latestEnd.clear();
  stops.clear();
  beatFrames.clear();
  qint64 latest = std::numeric_limits<qint64>::min();
  bool marks = false;
  bool pieces = false;
  for (const TrackSpan& span : spans) {
    latest = std::max<qint64>(latest, span.range.end.value());
    latestEnd.push_back(latest);
    stops.push_back(span.range.start.value());
    stops.push_back(span.range.end.value());
    if (span.kind == TrackSpan::Kind::beat) beatFrames.push_back(span.range.start.value());
    (inPieceRow(span) ? pieces : marks) = true;
  }
  std::sort(stops.begin(), stops.end());
  stops.erase(std::unique(stops.begin(), stops.end()), stops.end());
  if (marks != markRow || pieces != pieceRow) {
    markRow = marks;
    pieceRow = pieces;
    layOut();
  }
  view.update(lanes);
  view.update(band);
  view.update(overview);
}

void TrackView::State::visitSpans(qint64 start, qint64 end,
                                  const std::function<void(const TrackSpan&)>& use) const {
  // The first span that some span up to it reaches into the stretch.
  const auto first = std::lower_bound(latestEnd.begin(), latestEnd.end(), start);
  for (auto i = static_cast<std::size_t>(first - latestEnd.begin()); i < spans.size(); ++i) {
    const TrackSpan& span = spans[i];
    if (span.range.start.value() > end) break;
    if (span.range.end.value() >= start) use(span);
  }
}

const TrackSpan* TrackView::State::smallestSpanAt(FrameIndex frame) const {
  const TrackSpan* best = nullptr;
  visitSpans(frame.value(), frame.value(), [&](const TrackSpan& span) {
    if (span.range.empty() || frame >= span.range.end) return;
    if (best == nullptr || span.range.length() < best->range.length()) best = &span;
  });
  return best;
}

const TrackSpan* TrackView::State::spanAt(QPoint at) const {
  const bool in_band = band.contains(at);
  if (!in_band && !lanes.contains(at)) return nullptr;
  const auto reach = static_cast<qint64>(std::ceil(handleReach * framesPerPixel));
  const qint64 frame = frameAt(at.x()).value();
  const bool piece = in_band && pieceRow && (!markRow || at.y() >= band.top() + bandRow);
  const TrackSpan* best = nullptr;
  double best_distance = 0.0;
  // A point is met from its place to the end of its label's reach; stretches from edge to edge.
  visitSpans(frame - (in_band ? 8 : 1) * reach, frame + reach, [&](const TrackSpan& span) {
    if (in_band && inPieceRow(span) != piece) return;
    double distance = 0.0;
    if (span.range.start == span.range.end) {
      const double offset = at.x() - xOf(span.range.start);
      if (offset < -handleReach || offset > (in_band ? 8 : 1) * handleReach) return;
      distance = std::fabs(offset) / 1e3;
    } else {
      if (frame < span.range.start.value() || frame >= span.range.end.value()) return;
      distance = static_cast<double>(span.range.length().value());
    }
    if (best == nullptr || distance < best_distance) {
      best = &span;
      best_distance = distance;
    }
  });
  return best;
}

std::optional<FrameIndex> TrackView::State::nextStop(FrameIndex from, bool forward) const {
  std::optional<FrameIndex> best;
  const auto offer = [&](FrameIndex stop) {
    if (forward ? stop <= from : stop >= from) return;
    if (!best || (forward ? stop < *best : stop > *best)) best = stop;
  };
  if (forward) {
    const auto next = std::upper_bound(stops.begin(), stops.end(), from.value());
    if (next != stops.end()) offer(FrameIndex(*next));
  } else {
    const auto next = std::lower_bound(stops.begin(), stops.end(), from.value());
    if (next != stops.begin()) offer(FrameIndex(*std::prev(next)));
  }
  if (selection) {
    offer(selection->start);
    offer(selection->end);
  }
  return best;
}

void TrackView::State::giveUpDrag() {
  const Drag was = drag;
  edgeTimer.stop();
  anchor.letGo();
  if (was == Drag::select || was == Drag::selectionStart || was == Drag::selectionEnd) {
    select(selectionBefore);
  } else if (was == Drag::overview || was == Drag::pan) {
    moveTo(originBefore);
  } else if (dragMoved) {
    if (trimBefore && (was == Drag::trimStart || was == Drag::trimEnd || was == Drag::fadeIn ||
                       was == Drag::fadeOut)) {
      view.setTrim(trimBefore);
      Q_EMIT view.trimMoved(*trimBefore, true);
    } else if (loopBefore &&
               (was == Drag::loopStart || was == Drag::loopEnd || was == Drag::crossfade)) {
      view.setLoop(loopBefore);
      Q_EMIT view.loopMoved(*loopBefore, true);
    } else if (was == Drag::spanStart || was == Drag::spanEnd) {
      Q_EMIT view.spanMoved(spanId, spanBefore, true);
    }
  }
  drag = Drag::none;
}

QString TrackView::State::placed(FrameIndex frame) const {
  return placeText(frame, rate(), unit, timeDecimals(framesPerPixel, rate()));
}

QString TrackView::State::selectionText() const {
  if (!selection) return {};
  return tr("Selection %1 to %2, %3")
      .arg(placed(selection->start), placed(selection->end),
           lengthText(selection->length(), rate(), unit, timeDecimals(framesPerPixel, rate())));
}

void TrackView::State::describe() {
  QStringList parts;
  if (!take) {
    parts << emptyText;
  } else if (!take->trouble().isEmpty()) {
    parts << take->trouble();
  } else {
    const FrameRange range = shownFrames();
    parts << tr("%n channel(s)", nullptr, channels())
          << tr("shown %1 to %2")
                 .arg(placeText(range.start, rate(), unit, 1),
                      placeText(range.end, rate(), unit, 1))
          << tr("playhead %1").arg(placed(playhead));
    parts << (selection ? selectionText() : tr("nothing selected"));
  }
  const QString told = parts.join(QStringLiteral("; "));
  if (told != view.accessibleDescription()) view.setAccessibleDescription(told);
}

// --- The widget --------------------------------------------------------------------------------

TrackView::TrackView(QWidget* parent) : QWidget(parent), state_(std::make_unique<State>(*this)) {
  setAttribute(Qt::WA_OpaquePaintEvent);
  setFocusPolicy(Qt::StrongFocus);
  setMouseTracking(true);
  setSizePolicy(QSizePolicy::Expanding, QSizePolicy::Expanding);
  setAccessibleName(tr("Take"));
  State& s = *state_;
  s.emptyText = tr("No take is shown.");
  s.unitButton = new QToolButton(this);
  s.unitButton->setFont(Theme::instance().smallFont());
  s.unitButton->setAutoRaise(true);
  s.unitButton->setFocusPolicy(Qt::TabFocus);
  connect(s.unitButton, &QToolButton::clicked, this,
          [this] { setUnit(unit() == TimeUnit::time ? TimeUnit::frames : TimeUnit::time); });
  s.frequencyButton = new QToolButton(this);
  s.frequencyButton->setFont(Theme::instance().smallFont());
  s.frequencyButton->setAutoRaise(true);
  s.frequencyButton->setFocusPolicy(Qt::TabFocus);
  s.frequencyButton->hide();
  connect(s.frequencyButton, &QToolButton::clicked, this,
          [this] { setLinearFrequencies(!linearFrequencies()); });
  s.laneBar = new QScrollBar(Qt::Vertical, this);
  s.laneBar->setAccessibleName(tr("Channels shown"));
  s.laneBar->setFocusPolicy(Qt::TabFocus);
  s.laneBar->hide();
  connect(s.laneBar, &QScrollBar::valueChanged, this, [this](int value) {
    state_->scrollY = value;
    state_->placeHeads();
    update(state_->lanes);
    update(QRect(0, state_->lanes.top(), state_->lanes.left(), state_->lanes.height()));
  });
  connect(&Theme::instance(), &Theme::changed, this, [this] {
    state_->forgetTiles();
    state_->layOut();
  });
  setUnit(TimeUnit::time);
  setLinearFrequencies(false);
  s.describe();
}

TrackView::~TrackView() = default;

void TrackView::setTake(std::shared_ptr<TakeMedia> take) {
  State& s = *state_;
  if (take == s.take) return;
  s.giveUpDrag();
  for (const QMetaObject::Connection& link : s.links)
    disconnect(link);
  s.links.clear();
  s.take = std::move(take);
  s.tiles.clear();
  s.selection.reset();
  s.anchor.letGo();
  s.playhead = FrameIndex(0);
  s.trim.reset();
  s.loop.reset();
  s.heightZoom = 1.0;
  s.heightFitted = false;
  s.showsAll = true;
  if (s.take) {
    s.links.push_back(connect(s.take.get(), &TakeMedia::updated, this, [this] {
      state_->fitHeight();
      state_->forgetTiles();
      state_->describe();
      update();
    }));
    s.links.push_back(connect(&s.take->samples(), &SamplePages::pageRead, this,
                              [this](FrameRange range) { state_->pageRead(range); }));
    s.links.push_back(connect(&s.take->spectra(), &Spectra::tileDone, this,
                              [this](const SpectrumKey& key) { state_->spectrumDone(key); }));
    s.fitHeight();
  }
  s.rebuildHeads();
  s.takeSpans({});
  s.layOut();
  s.describe();
  Q_EMIT gainsChanged();
}

const std::shared_ptr<TakeMedia>& TrackView::take() const {
  return state_->take;
}

void TrackView::setEmptyText(const QString& text) {
  state_->emptyText = text;
  state_->describe();
  update();
}

void TrackView::setChannelNames(const QStringList& names) {
  state_->channelNames = names;
  state_->nameHeads();
}

void TrackView::setSpans(std::vector<TrackSpan> spans) {
  state_->takeSpans(std::move(spans));
}

void TrackView::setTrim(std::optional<TrackTrim> trim) {
  State& s = *state_;
  if (trim == s.trim) return;
  if (s.trim && trim) {
    s.updateBetween(
        std::min(s.trim->range.start, trim->range.start),
        std::max(s.trim->range.start + s.trim->fadeIn, trim->range.start + trim->fadeIn));
    s.updateBetween(std::min(s.trim->range.end - s.trim->fadeOut, trim->range.end - trim->fadeOut),
                    std::max(s.trim->range.end, trim->range.end));
  } else {
    update(s.lanes);
  }
  s.trim = trim;
}

void TrackView::setLoop(std::optional<TrackLoop> loop) {
  State& s = *state_;
  if (loop == s.loop) return;
  if (s.loop && loop) {
    for (const auto& one : {*s.loop, *loop}) {
      // Both ends with the stretches that are blended; what moved lies between old and new.
      s.updateBetween(one.range.start - one.crossfade, one.range.start + one.crossfade);
      s.updateBetween(one.range.end - one.crossfade, one.range.end + one.crossfade);
    }
    s.updateBetween(s.loop->range.start, loop->range.start);
    s.updateBetween(s.loop->range.end, loop->range.end);
  } else {
    update(s.lanes);
  }
  s.loop = loop;
}

std::optional<TrackTrim> TrackView::trim() const {
  return state_->trim;
}

std::optional<TrackLoop> TrackView::loop() const {
  return state_->loop;
}

void TrackView::setLook(Look look) {
  if (look == state_->look) return;
  state_->look = look;
  state_->layOut();
}

TrackView::Look TrackView::look() const {
  return state_->look;
}

void TrackView::setLinearFrequencies(bool linear) {
  State& s = *state_;
  s.linear = linear;
  s.frequencyButton->setText(linear ? tr("Even Hz") : tr("Octaves"));
  s.frequencyButton->setToolTip(
      linear ? tr("Frequencies from 0 to 12 kHz at even steps. Click for octaves.")
             : tr("Every octave has the same height. Click for 0 to 12 kHz at even steps."));
  s.frequencyButton->setAccessibleName(linear ? tr("Frequencies at even steps")
                                              : tr("Frequencies by octaves"));
  update();
}

bool TrackView::linearFrequencies() const {
  return state_->linear;
}

std::optional<FrameRange> TrackView::selection() const {
  return state_->selection;
}

void TrackView::setSelection(std::optional<FrameRange> selection) {
  state_->anchor.letGo();
  state_->select(selection);
}

FrameIndex TrackView::playhead() const {
  return state_->playhead;
}

void TrackView::setPlayhead(FrameIndex frame) {
  State& s = *state_;
  const FrameIndex to = clampFrame(frame, s.frames());
  if (to == s.playhead) return;
  const double before = s.xOf(s.playhead);
  const bool was_shown = before >= s.lanes.left() - 1 && before <= s.lanes.right() + 1;
  s.updatePlayhead(s.playhead);
  s.playhead = to;
  s.updatePlayhead(to);
  update(s.readout);
  const double scale = static_cast<double>(s.overview.width()) /
                       static_cast<double>(std::max<qint64>(1, s.frames()));
  const auto place = [&](double x) {
    return static_cast<int>(std::floor(s.overview.left() + x * scale));
  };
  const int overview_before = place((before - s.lanes.left()) * s.framesPerPixel + s.originFrame);
  const int overview_after = place(static_cast<double>(to.value()));
  if (overview_before != overview_after) {
    update(QRect(overview_before - 1, s.overview.top(), 3, s.overview.height()));
    update(QRect(overview_after - 1, s.overview.top(), 3, s.overview.height()));
  }
  if (was_shown && s.drag == State::Drag::none) s.reveal(to);
}

FrameRange TrackView::shownRange() const {
  return state_->shownFrames();
}

void TrackView::showRange(FrameRange range) {
  State& s = *state_;
  if (s.frames() == 0) return;
  const double length =
      std::max(static_cast<double>(range.length().value()) * 1.2, s.rate() * 0.02);
  const double middle =
      0.5 * (static_cast<double>(range.start.value()) + static_cast<double>(range.end.value()));
  s.framesPerPixel =
      std::clamp(length / s.lanes.width(), s.leastFramesPerPixel(), s.allFramesPerPixel());
  s.showsAll = s.framesPerPixel == s.allFramesPerPixel();
  s.originFrame = 0.0;
  s.moveTo(middle - 0.5 * s.lanes.width() * s.framesPerPixel);
  update();
  s.shown();
}

void TrackView::showAll() {
  state_->fitAll();
}

void TrackView::zoom(double factor) {
  State& s = *state_;
  const double x = s.xOf(s.playhead);
  const bool seen = x >= s.lanes.left() && x <= s.lanes.right();
  s.zoomTo(s.framesPerPixel / factor, seen ? x : s.lanes.left() + 0.5 * s.lanes.width());
}

void TrackView::scrollBy(int pixels) {
  state_->showsAll = false;
  state_->moveTo(state_->originFrame + pixels * state_->framesPerPixel);
}

double TrackView::framesPerPixel() const {
  return state_->framesPerPixel;
}

void TrackView::setZoom(double framesPerPixel, FrameIndex start) {
  State& s = *state_;
  s.framesPerPixel = std::clamp(framesPerPixel, s.leastFramesPerPixel(), s.allFramesPerPixel());
  s.showsAll = false;
  s.originFrame = 0.0;
  s.moveTo(static_cast<double>(start.value()));
  update();
  s.shown();
}

void TrackView::setUnit(TimeUnit unit) {
  State& s = *state_;
  s.unit = unit;
  const bool time = unit == TimeUnit::time;
  s.unitButton->setText(time ? tr("Time") : tr("Frames"));
  s.unitButton->setToolTip(time ? tr("The ruler shows times. Click for frames.")
                                : tr("The ruler shows frames. Click for times."));
  s.unitButton->setAccessibleName(time ? tr("Ruler: time") : tr("Ruler: frames"));
  s.describe();
  update();
}

TimeUnit TrackView::unit() const {
  return state_->unit;
}

QRect TrackView::lanesRect() const {
  return state_->lanes;
}

QRect TrackView::laneRect(int channel) const {
  return state_->lane(channel);
}

QRect TrackView::spectrumRect(int channel) const {
  return state_->spectrumRect(channel);
}

qint64 TrackView::deviceXOf(FrameIndex frame) const {
  return state_->axis().xOf(frame);
}

bool TrackView::isSettled() const {
  const State& s = *state_;
  if (!s.take) return true;
  if (!s.take->trouble().isEmpty()) return true;
  if (!s.take->peaks()) return false;
  return !s.lacksPages() && s.lackingSpectra().empty();
}

QSize TrackView::sizeHint() const {
  return {900, 360};
}

QSize TrackView::minimumSizeHint() const {
  return {320, 190};
}

std::vector<float> TrackView::gains() const {
  const State& s = *state_;
  std::vector<float> gains(static_cast<std::size_t>(s.channels()), 1.0F);
  const bool any_solo = std::any_of(s.heads.begin(), s.heads.end(),
                                    [](const auto& head) { return head.solo->isChecked(); });
  for (std::size_t c = 0; c < gains.size() && c < s.heads.size(); ++c) {
    const bool silent = s.heads[c].mute->isChecked() || (any_solo && !s.heads[c].solo->isChecked());
    if (silent) gains[c] = 0.0F;
  }
  return gains;
}

}  // namespace fourbeat::ui
